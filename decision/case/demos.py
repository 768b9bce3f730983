"""The demo cases: requests with invented aircraft and aerodromes, each with what it shows."""

from __future__ import annotations

import json
import tomllib
from functools import cache
from pathlib import Path
from typing import Any, Final

import msgspec

from decision.citations import DATA
from decision.errors import DataError

FOLDER: Final = DATA / "cases"
TITLES: Final = FOLDER / "titles.toml"


class Demo(msgspec.Struct, frozen=True, kw_only=True, gc=False):
    """One demo case. `body` holds the bytes of its request."""

    name: str
    title: str
    meaning: str
    body: bytes

    def request(self) -> dict[str, Any]:
        """Its request, fresh for the caller to change."""
        read: dict[str, Any] = json.loads(self.body)
        return read


class _Words(msgspec.Struct, frozen=True, kw_only=True, gc=False, forbid_unknown_fields=True):
    title: str
    meaning: str


@cache
def installed_demos() -> tuple[Demo, ...]:
    """Every demo case, by name. Raises DataError where a case has no words or words no case."""
    return demos_in(FOLDER)


def demos_in(folder: Path) -> tuple[Demo, ...]:
    """The cases of a folder with their words from its titles.toml. Raises DataError."""
    words = _words(folder / TITLES.name)
    files = {path.stem: path for path in sorted(folder.glob("*.json"))}
    for name in sorted(files.keys() ^ words.keys()):
        raise DataError(TITLES.name, name, "must have both a title here and a case beside it")
    return tuple(
        Demo(
            name=name, title=words[name].title, meaning=words[name].meaning, body=path.read_bytes()
        )
        for name, path in files.items()
    )


def _words(file: Path) -> dict[str, _Words]:
    try:
        return msgspec.convert(tomllib.loads(file.read_text(encoding="utf-8")), dict[str, _Words])
    except (ValueError, msgspec.ValidationError) as error:
        raise DataError(file.name, "titles", str(error)) from None
