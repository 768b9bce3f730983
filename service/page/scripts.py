"""The scripts of the pages and their icon: a fixed set, read once, so no request names a file."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

FOLDER: Final = Path(__file__).parent / "script"
ICON: Final = (Path(__file__).parents[1] / "templates" / "icon.svg").read_bytes()


@cache
def scripts() -> Mapping[str, str]:
    """Every script by its file name."""
    files = sorted(FOLDER.glob("*.js"))
    return MappingProxyType({file.name: file.read_text(encoding="utf-8") for file in files})
