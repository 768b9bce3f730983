"""Builders for the profile tests: the demo aircraft with some values or some text changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from decision.profile import Profile, load_profile
from decision.profile.load import PROFILES
from decision.profile.systems_data import SUFFIX as SYSTEMS_SUFFIX
from tests.changing import replace

DEMO = "xtj150"
WIDEBODY = "xtwide"


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


RENAMED_DETENTS = {"0": "UP", "4": "A", "11": "B", "19": "C", "29": "FULL"}
ENGINE_ROWS = """
[[node]]
id = "engine-{number}"
kind = "source"
title = "Engine {number}"
when_lost = [{{ kind = "engine-out" }}]
source = "ASSUMED"

[[failure]]
id = "engine-{number}"
group = "engines"
ata = "72"
title = "Engine {number} shut down"
effects = [{{ kind = "lose", node = "engine-{number}" }}]
source = "ASSUMED"
nature = "engine {number} failure"
dispatch = "Rescue services on stand-by."
cabin = "An engine has been shut down."
"""


def four_engined(folder: Path) -> Path:
    """The widebody with the same thrust from four engines, and with no name of the others."""
    text = (PROFILES / f"{WIDEBODY}.toml").read_text(encoding="utf-8")
    for old, new in RENAMED_DETENTS.items():
        text = text.replace(f'id = "{old}"', f'id = "{new}"')
        text = text.replace(f'value = "{old}"', f'value = "{new}"')
    for old, new in (
        (f'id = "{WIDEBODY}"', 'id = "four"'),
        ("count = { value = 2", "count = { value = 4"),
        ("static_thrust_n = { value = 335000", "static_thrust_n = { value = 167500"),
        (
            "takeoff_fuel_flow_kg_per_s = { value = 2.80",
            "takeoff_fuel_flow_kg_per_s = { value = 1.40",
        ),
    ):
        assert old in text
        text = text.replace(old, new)
    systems = (PROFILES / f"{WIDEBODY}{SYSTEMS_SUFFIX}").read_text(encoding="utf-8")
    systems = systems.replace("hydraulic-", "pressure-")
    systems += "".join(ENGINE_ROWS.format(number=number) for number in (3, 4))
    (folder / f"four{SYSTEMS_SUFFIX}").write_text(systems, encoding="utf-8")
    path = folder / "four.toml"
    path.write_text(text, encoding="utf-8")
    return path
