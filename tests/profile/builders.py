"""Builders for the profile tests: the demo aircraft with some values or some text changed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from decision.profile import Profile, load_profile
from decision.profile.load import PROFILES
from decision.profile.systems_data import SUFFIX as SYSTEMS_SUFFIX

DEMO = "xtj150"


def altered(section: str, **values: Any) -> Profile:
    """The demo aircraft with other values in one section."""
    profile = load_profile(DEMO)
    changed = replace(getattr(profile, section), **values)
    return replace(profile, **{section: changed})


def with_detent(flap: str, **values: Any) -> Profile:
    """The demo aircraft with one flap detent changed."""
    profile = load_profile(DEMO)
    detents = tuple(replace(d, **values) if d.id == flap else d for d in profile.detents)
    return replace(profile, detents=detents)


def file_with(folder: Path, *replacements: tuple[str, str]) -> Path:
    """A copy of the demo file, beside its systems file, with some text replaced once each."""
    text = (PROFILES / f"{DEMO}.toml").read_text(encoding="utf-8")
    for old, new in replacements:
        assert old in text
        text = text.replace(old, new, 1)
    systems = PROFILES / f"{DEMO}{SYSTEMS_SUFFIX}"
    (folder / systems.name).write_bytes(systems.read_bytes())
    path = folder / f"{DEMO}.toml"
    path.write_text(text, encoding="utf-8")
    return path
