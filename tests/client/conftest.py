"""Services behind a door, as the tests of the door have them."""

from __future__ import annotations

from tests.door.conftest import build

__all__ = ["build"]
