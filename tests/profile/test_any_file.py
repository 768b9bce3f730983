"""Whatever a file holds in place of a value, it is read or refused with its key, never a crash."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.profile.load import PROFILES, read_profile
from decision.profile.systems_data import SUFFIX as SYSTEMS_SUFFIX

LITERALS = (
    "[]",
    "{}",
    "[{}]",
    '[{ kind = "limit" }]',
    '{ kind = ["lose"] }',
    "{ value = [] }",
    '{ value = 1, unit = ["kg"], source = {} }',
    '""',
    '"x"',
    "1",
    "-1e300",
    "nan",
    "inf",
    "true",
    "1979-05-27",
)
TEXTS = {
    suffix: (PROFILES / f"xtwide{suffix}").read_text(encoding="utf-8")
    for suffix in (".toml", SYSTEMS_SUFFIX)
}
VALUE = re.compile(r"^(?P<key>\w+) = (?P<value>[^\[\n].*)$", re.MULTILINE)
COUNTS = {suffix: len(VALUE.findall(text)) for suffix, text in TEXTS.items()}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("profiles")


@given(data=st.data(), suffix=st.sampled_from(sorted(TEXTS)), literal=st.sampled_from(LITERALS))
def test_a_wrong_value_is_a_fault_of_its_file(
    folder: Path, data: st.DataObject, suffix: str, literal: str
) -> None:
    number = data.draw(st.integers(min_value=0, max_value=COUNTS[suffix] - 1))
    places = list(VALUE.finditer(TEXTS[suffix]))
    start, end = places[number].span("value")
    changed = {**TEXTS, suffix: TEXTS[suffix][:start] + literal + TEXTS[suffix][end:]}
    for name, text in changed.items():
        (folder / f"any{name}").write_text(text, encoding="utf-8")
    reading = read_profile(folder / "any.toml")
    assert (reading.profile is None) == bool(reading.faults)
    assert {fault.file for fault in reading.faults} <= {f"any{suffix}", "any.toml"}
    assert all(fault.key and fault.problem for fault in reading.faults)
