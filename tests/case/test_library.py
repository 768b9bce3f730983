"""Installed aerodromes: every file loads, and a wrong one is named with its key and range."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from decision.case import case_from_mapping, installed_library
from decision.case.library import AERODROMES, load_aerodrome
from decision.errors import DataError, InvalidCase
from tests.case.builders import demo, with_changes

GOOD = """
source = "invented"
version = "1"
icao = "XNEW"
elevation_ft = 100
runways = [{ ident = "09", true_bearing_deg = 90, lda_m = 2000 }]
approaches = []
"""


def loading(folder: Path, text: str) -> str:
    file = folder / "XNEW.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(DataError) as caught:
        load_aerodrome(file)
    return str(caught.value)


def test_every_installed_aerodrome_is_found_by_its_indicator() -> None:
    found = installed_library().aerodromes
    assert set(found) == {path.stem for path in AERODROMES.glob("*.toml")}
    assert all(icao == aerodrome.icao and icao[0] == "X" for icao, aerodrome in found.items())


def test_a_good_file_loads_with_its_defaults(tmp_path: Path) -> None:
    file = tmp_path / "XNEW.toml"
    file.write_text(GOOD, encoding="utf-8")
    aerodrome = load_aerodrome(file)
    assert aerodrome.name == "XNEW"
    assert aerodrome.runway("09").slope_percent == 0.0
    with pytest.raises(KeyError):
        aerodrome.runway("27")


@pytest.mark.parametrize(
    ("replaced", "by", "words"),
    [
        ('source = "invented"', "", "XNEW.toml: source: is required"),
        ('version = "1"', 'version = ""', "XNEW.toml: version: is required"),
        ("lda_m = 2000", "lda_m = 20", "XNEW.toml: /runways/0/lda_m: 20 is not accepted"),
        ("elevation_ft = 100", "", "XNEW.toml: elevation_ft: is required"),
        (
            "approaches = []",
            'approaches = [{ id = "A", runway = "27", kind = "3D-A" }]',
            "XNEW.toml: /approaches/0/runway: XNEW has no runway 27",
        ),
    ],
)
def test_a_wrong_file_is_named_with_its_key(
    replaced: str, by: str, words: str, tmp_path: Path
) -> None:
    assert replaced in GOOD
    assert words in loading(tmp_path, GOOD.replace(replaced, by))


CLOSED = {
    "icao": "XNEW",
    "elevation_ft": 10,
    "runways": [{"ident": "09", "true_bearing_deg": 90, "lda_m": 2000}],
    "approaches": [],
    "track_nm": 100,
}


def test_closures_become_windows() -> None:
    closed = {"from_at": "2026-03-14T07:00:00Z", "until_at": "2026-03-14T08:00:00Z"}
    body = with_changes(demo("clean"), {"/alternates/0": {**CLOSED, "closures": [closed]}})
    (closure,) = case_from_mapping(body).alternates[0].aerodrome.closures
    assert closure.window.start_at == datetime(2026, 3, 14, 7, tzinfo=UTC)
    assert closure.window.end_at == datetime(2026, 3, 14, 8, tzinfo=UTC)


def test_each_closure_that_ends_before_it_begins_is_named() -> None:
    hours = [("07", "08"), ("09", "09"), ("11", "10")]
    closures = [
        {"from_at": f"2026-03-14T{a}:00:00Z", "until_at": f"2026-03-14T{b}:00:00Z"}
        for a, b in hours
    ]
    body = with_changes(demo("clean"), {"/alternates/0": {**CLOSED, "closures": closures}})
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping(body)
    assert [fault.pointer for fault in caught.value.faults] == [
        "/alternates/0/closures/1/until_at",
        "/alternates/0/closures/2/until_at",
    ]
