"""The page of failures against the data that it is written from."""

from __future__ import annotations

import re

import pytest

from decision.profile import load_profile, profile_ids
from decision.workbench.failure_page import page
from service.documents import FOLDER

TEXT = (FOLDER / "failures.md").read_text(encoding="utf-8")


def test_the_page_is_what_the_data_says() -> None:
    assert page() == TEXT


@pytest.mark.parametrize("profile_id", profile_ids())
def test_every_failure_has_a_row_that_tells_what_it_does_and_where_that_comes_from(
    profile_id: str,
) -> None:
    part = TEXT.partition(f"## {profile_id}:")[2].partition("\n## ")[0]
    rows = [line.split(" | ") for line in part.splitlines() if line.startswith("| `")]
    named = {re.findall(r"`([^`]+)`", row[0])[0] for row in rows}
    assert named == set(load_profile(profile_id).systems.catalogue)
    assert all(len(row) == 6 and row[2].strip() and row[5].strip(" |") for row in rows)


def test_the_steps_that_are_for_good_are_told() -> None:
    row = next(line for line in TEXT.splitlines() if line.startswith("| `hydraulic-1`"))
    assert "extend the gear by the alternate system" in row
