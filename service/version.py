"""The version of the project; `pyproject.toml` reads it here."""

from __future__ import annotations

from typing import Final

VERSION: Final = "0.1.0"
