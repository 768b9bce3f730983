"""The scripts of the pages: a fixed set, read once, so that no request can name a file."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

FOLDER: Final = Path(__file__).parent / "script"


@cache
def scripts() -> Mapping[str, str]:
    """Every script by its file name."""
    files = sorted(FOLDER.glob("*.js"))
    return MappingProxyType({file.name: file.read_text(encoding="utf-8") for file in files})
