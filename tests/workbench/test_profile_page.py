"""The page of profiles, and its figures, against the code and data they are written from."""

from __future__ import annotations

import re
import tomllib
from dataclasses import fields
from xml.etree import ElementTree

import pytest

from decision.profile import load_profile, profile_ids
from decision.profile.describe import FIELDS_FROM_ELSEWHERE, HEADER, tables
from decision.profile.load import PROFILES
from decision.profile.meanings import MEANING
from decision.profile.operator_tables import Departing, Elsewhere, Loss, TableQuantity
from decision.profile.operator_tables_file import KEYS
from decision.profile.systems_checks import RULES
from decision.profile.systems_data import FAILURE_KEYS, NODE_KEYS
from decision.profile.systems_effects import EFFECTS, LIMITS
from decision.profile.types import Profile
from decision.workbench import systems_format
from decision.workbench.fitting import GREATEST_CONDITION, candidates, fit_flows
from decision.workbench.flow_rows import COLUMNS, OPTIONAL_COLUMNS
from decision.workbench.plausibility import GATES, check_profile
from decision.workbench.profile_page import page
from decision.workbench.report import fit_report
from service.documents import FIGURES, FOLDER
from tests.bench.profile_plots import drawings
from tests.workbench.flows import flows_of_library

TEXT = (FOLDER / "profiles.md").read_text(encoding="utf-8")
TABLES_TEXT = (FOLDER / "operator-tables.md").read_text(encoding="utf-8")
MACHINE_DIGITS = 0.11  # px: figures are drawn to a tenth


@pytest.fixture(scope="module")
def drawn() -> dict[str, str]:
    """Every figure as it would be drawn now."""
    return dict(drawings())


def test_the_page_is_what_code_and_data_say() -> None:
    assert page() == TEXT


def test_every_table_and_key_of_a_profile_is_described() -> None:
    tops = {field.name for field in fields(Profile)} - set(FIELDS_FROM_ELSEWHERE)
    assert tops == {table.name for table in tables() if "." not in table.name}
    for table in tables():
        assert table.meaning.endswith((".", ")"))
        part = TEXT.partition(f"{table.name}]")[2]
        assert all(f"| `{key.name}` |" in part for key in table.keys)


def test_no_meaning_is_left_over_or_said_twice() -> None:
    keys = [f"{table.name}.{key.name}" for table in tables() for key in table.keys]
    assert sorted(keys) == sorted(MEANING)
    assert all(key.meaning.endswith(".") for table in tables() for key in table.keys)


@pytest.mark.parametrize(
    ("told", "read"),
    [(systems_format.NODE_KEYS, NODE_KEYS), (systems_format.FAILURE_KEYS, FAILURE_KEYS)],
)
def test_every_key_of_a_systems_row_is_described(told: dict[str, str], read: set[str]) -> None:
    assert set(told) == read
    part = TEXT.partition("## The systems file")[2]
    assert all(f"| `{key}` | {words} |" in part for key, words in told.items())


def test_every_effect_and_every_limit_is_described() -> None:
    effects = TEXT.partition("### Effects")[2].partition("\n### ")[0]
    assert re.findall(r"^\| `([a-z-]+)` \|", effects, re.MULTILINE) == list(EFFECTS)
    for kind, effect in EFFECTS.items():
        row = next(line for line in effects.splitlines() if line.startswith(f"| `{kind}` |"))
        assert all(f"`{field.name}`: " in row for field in fields(effect) if field.name != "source")
    limits = TEXT.partition("### Limits")[2].partition("\n### ")[0]
    assert re.findall(r"^\| `(\w+)` \|", limits, re.MULTILINE) == list(LIMITS)


def test_every_check_between_the_rows_is_told() -> None:
    part = TEXT.partition("### What is checked between the rows")[2]
    assert part.count("\n- ") == len(RULES)
    assert all(rule.__doc__ for rule in RULES)


def test_the_example_of_a_systems_file_is_read() -> None:
    """Its two rows use only keys, kinds and effects that there are."""
    example = TEXT.partition("## The systems file")[2].split("```")[1]
    rows = tomllib.loads(example)
    for row in (*rows["node"], *rows["failure"]):
        for name in ("when_lost", "when_degraded", "effects"):
            assert {effect["kind"] for effect in row.get(name, ())} <= set(EFFECTS)
    assert set(rows["node"][0]) <= NODE_KEYS
    assert set(rows["failure"][0]) <= FAILURE_KEYS


def test_every_key_of_the_demo_file_is_one_of_the_described() -> None:
    text = (PROFILES / "xtj150.toml").read_text(encoding="utf-8")
    known = {key.name for table in tables() for key in table.keys}
    known |= {"id", "version", "title", "source"}
    assert set(re.findall(r"^(\w+) = ", text, re.MULTILINE)) == known
    assert f"[{HEADER}]" in text


@pytest.mark.parametrize("profile_id", profile_ids())
def test_each_aircraft_shows_what_every_gate_found(profile_id: str) -> None:
    part = TEXT.partition(f"### What it finds for {profile_id}\n")[2].partition("\n### ")[0]
    found = {(finding.gate, finding.source) for finding in check_profile(load_profile(profile_id))}
    assert all(f"\n{gate} [{source}]\n" in part for gate, source in found)
    assert all(f"| {gate.id} | {gate.unit} | {gate.source} |" in TEXT for gate in GATES)
    assert "all passed" in part


OF_OTHERS = ("growth-", "page-", "replay-")  # made by other scripts, each with a test of its own
OF_PROFILES = [
    file.name for file in sorted(FIGURES.glob("*.svg")) if not file.name.startswith(OF_OTHERS)
]


@pytest.mark.parametrize("name", OF_PROFILES)
def test_the_figures_are_as_drawn_now(name: str, drawn: dict[str, str]) -> None:
    """Number by number: the last digit may differ between machines."""
    stored = (FIGURES / name).read_text(encoding="utf-8")
    ElementTree.fromstring(stored)  # noqa: S314  # our own file
    number = re.compile(r"\d+\.\d+")
    assert number.sub("#", stored) == number.sub("#", drawn[name])
    was, now = (list(map(float, number.findall(text))) for text in (stored, drawn[name]))
    assert now == pytest.approx(was, abs=MACHINE_DIGITS)


def test_no_figure_is_missing(drawn: dict[str, str]) -> None:
    assert set(drawn) == set(OF_PROFILES)


# --- operator tables ---


def test_the_page_of_tables_shows_the_fit_as_it_is_now() -> None:
    fit = fit_flows(load_profile("xtj150"), flows_of_library())
    assert f"```\n{fit_report(fit, table='library.csv')}```" in TABLES_TEXT


def test_the_page_of_tables_names_every_column_and_word() -> None:
    words = {*COLUMNS, *OPTIONAL_COLUMNS, *Departing, *Loss, *TableQuantity, *Elsewhere}
    words |= {"departing", "m_per_unit", "most_units", "distance_m", "condition_code", "mach"}
    words |= {
        each.path for each in candidates(load_profile("xtj150")) if "detents" not in each.path
    }
    assert {word for word in words if f"`{word}`" not in TABLES_TEXT} == set()
    assert all(f"`{key}`" in TABLES_TEXT or f"\n{key} = " in TABLES_TEXT for key in KEYS)
    assert f"at or below {GREATEST_CONDITION:.0f}" in TABLES_TEXT
