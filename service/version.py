"""The version of the project, kept in one place: `pyproject.toml`."""

from __future__ import annotations

import tomllib
from typing import Final

from service.settings import ROOT


def _version() -> str:
    with (ROOT / "pyproject.toml").open("rb") as file:
        version: str = tomllib.load(file)["project"]["version"]
    return version


VERSION: Final = _version()
