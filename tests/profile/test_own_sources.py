"""An operator cites its own manuals, in the profile and in its systems file."""

from __future__ import annotations

from pathlib import Path

import pytest

from decision.citations import Confidence
from decision.profile.load import FileReading, read_profile
from decision.profile.own_sources import MEMBERS
from decision.workbench.profile_page import HEAD
from tests.profile.builders import file_with

OWN = """
[sources.MANUAL-7]
title = "Performance manual"
edition = "revision 12"
confidence = "found"
"""


def reading(tmp_path: Path, own: str) -> FileReading:
    """The demo aircraft with its first value and its first node from the operator's manual."""
    path = file_with(
        tmp_path,
        ("[profile]", f"{own}\n[profile]"),
        ('42500, unit = "kg", source = "ASSUMED"', '42500, unit = "kg", source = "MANUAL-7"'),
    )
    systems = path.with_name("xtj150.systems.toml")
    text = systems.read_text(encoding="utf-8")
    systems.write_text(
        text.replace('source = "ASSUMED"', 'source = "MANUAL-7"', 1), encoding="utf-8"
    )
    return read_profile(path)


def test_a_source_of_the_profile_serves_both_of_its_files(tmp_path: Path) -> None:
    read = reading(tmp_path, OWN)
    assert read.faults == ()
    assert read.profile is not None
    (own,) = read.profile.sources
    assert (own.key, own.title, own.confidence) == (
        "MANUAL-7",
        "Performance manual",
        Confidence.FOUND,
    )
    assert read.profile.systems.nodes["engine-1"].source == "MANUAL-7"


def test_without_it_both_files_are_refused(tmp_path: Path) -> None:
    faults = {(fault.file, fault.key) for fault in reading(tmp_path, "").faults}
    assert faults == {
        ("xtj150.toml", "masses.oew_kg.source"),
        ("xtj150.systems.toml", "node.engine-1.source"),
    }


@pytest.mark.parametrize(
    ("own", "key", "problem"),
    [
        (OWN.replace("MANUAL-7", "manual"), "sources.manual", "capitals"),
        (OWN.replace("MANUAL-7", "CFR-25"), "sources.CFR-25", "product's own bibliography"),
        (OWN.replace('edition = "revision 12"', ""), "sources.MANUAL-7.edition", "must be text"),
        (OWN.replace('"Performance manual"', '" "'), "sources.MANUAL-7.title", "must be text"),
        (OWN.replace('"found"', '"sure"'), "sources.MANUAL-7.confidence", "one of found, quoted"),
        (OWN.replace('"found"', "[]"), "sources.MANUAL-7.confidence", "one of found, quoted"),
        (OWN + "page = 3", "sources.MANUAL-7.page", "unknown key"),
        ("[sources]\nMANUAL-7 = 3", "sources.MANUAL-7", "must be a table"),
        ("sources = 3", "sources", "must be a table of tables"),
    ],
)
def test_what_is_wrong_with_a_source_is_named(
    tmp_path: Path, own: str, key: str, problem: str
) -> None:
    faults = {fault.key: fault.problem for fault in reading(tmp_path, own).faults}
    assert problem in faults[key]


def test_every_fault_of_a_source_comes_at_once(tmp_path: Path) -> None:
    found = {fault.key for fault in reading(tmp_path, "[sources.MANUAL-7]").faults}
    assert {f"sources.MANUAL-7.{name}" for name in MEMBERS} <= found


def test_the_page_tells_of_it() -> None:
    assert "[sources.PERFORMANCE-MANUAL]" in HEAD
    assert all(f"{each.value}" in HEAD for each in Confidence)
