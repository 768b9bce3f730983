"""Version of the engine, printed in every answer. Raised with every change of accuracy."""

from typing import Final

ENGINE_VERSION: Final = "0.1.0"
