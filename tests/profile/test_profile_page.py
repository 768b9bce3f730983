"""The page of profiles, and its figures, against the code and data they are written from."""

from __future__ import annotations

import re
from dataclasses import fields
from xml.etree import ElementTree

import pytest

from decision.performance.plausibility import GATES
from decision.profile import load_profile, profile_ids
from decision.profile.describe import FIELDS_FROM_ELSEWHERE, HEADER, tables
from decision.profile.load import PROFILES
from decision.profile.types import Profile
from service.documents import FIGURES
from service.profile_page import PAGE, page
from tests.bench.profile_plots import figures

TEXT = PAGE.read_text(encoding="utf-8")
MACHINE_DIGITS = 0.11  # px: figures are drawn to a tenth


def test_the_page_is_what_code_and_data_say() -> None:
    assert page(map(load_profile, profile_ids())) == TEXT


def test_every_table_and_key_of_a_profile_is_described() -> None:
    tops = {field.name for field in fields(Profile)} - set(FIELDS_FROM_ELSEWHERE)
    assert tops == {table.name for table in tables() if "." not in table.name}
    for table in tables():
        assert table.meaning.endswith((".", ")"))
        part = TEXT.partition(f"{table.name}]")[2]
        assert all(f"| `{key.name}` |" in part for key in table.keys)


def test_every_key_of_the_demo_file_is_one_of_the_described() -> None:
    text = (PROFILES / "xtj150.toml").read_text(encoding="utf-8")
    known = {key.name for table in tables() for key in table.keys}
    known |= {"id", "version", "title", "source"}
    assert set(re.findall(r"^(\w+) = ", text, re.MULTILINE)) == known
    assert f"[{HEADER}]" in text


@pytest.mark.parametrize("profile_id", profile_ids())
def test_each_aircraft_shows_what_every_gate_found(profile_id: str) -> None:
    part = TEXT.partition(f"### What it finds for {profile_id}\n")[2].partition("\n### ")[0]
    assert all(f"\n{gate.id} [{gate.source}]\n" in part for gate in GATES)
    assert "all passed" in part


@pytest.mark.parametrize("profile_id", profile_ids())
def test_the_figures_are_those_of_the_profile(profile_id: str) -> None:
    """As drawn now, number by number: the last digit may differ between machines."""
    for name, svg in figures(load_profile(profile_id)).items():
        stored = (FIGURES / name).read_text(encoding="utf-8")
        ElementTree.fromstring(stored)  # noqa: S314  # our own file
        number = re.compile(r"\d+\.\d+")
        assert number.sub("#", stored) == number.sub("#", svg), name
        was, now = (list(map(float, number.findall(text))) for text in (stored, svg))
        assert now == pytest.approx(was, abs=MACHINE_DIGITS)
