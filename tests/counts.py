"""How many seeded cases a property is tried on: few at once, many in the long tier."""

from __future__ import annotations

import os
from typing import Final

PROPERTY_CASES: Final = int(os.environ.get("PROPERTY_CASES", "100"))
