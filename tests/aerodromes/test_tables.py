"""Aerodrome files from open tables: what they say, nothing else, and what was left out.

The tables are invented, in the shape that public tables of aerodromes and runways have.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from decision.case import case_from_mapping
from decision.case.library import load_aerodrome
from decision.errors import DataError
from decision.recommend import recommend_mapping
from service.aerodromes.__main__ import main
from service.aerodromes.folder import library_from
from service.aerodromes.tables import as_toml, import_tables, read_map
from service.documents import FOLDER
from tests.case.builders import demo, with_changes

OPERATION = FOLDER / "operation.md"
MAP = """
source = "invented tables, for a test"
version = "2026-01"

[aerodromes]
file = "places.csv"
keep = { type = ["large", "medium"] }

[aerodromes.columns]
key = "ident"
icao = "icao_code"
name = "name"
latitude_deg = "latitude_deg"
longitude_deg = "longitude_deg"
elevation_ft = "elevation_ft"

[runways]
file = "runways.csv"
keep = { surface = ["ASP", "CON"] }

[runways.columns]
aerodrome = "airport_ident"
length_ft = "length_ft"
width_ft = "width_ft"
closed = "closed"

[[runways.ends]]
ident = "le_ident"
true_bearing_deg = "le_heading_degT"
latitude_deg = "le_latitude_deg"
longitude_deg = "le_longitude_deg"
elevation_ft = "le_elevation_ft"

[[runways.ends]]
ident = "he_ident"
true_bearing_deg = "he_heading_degT"
latitude_deg = "he_latitude_deg"
longitude_deg = "he_longitude_deg"
elevation_ft = "he_elevation_ft"
"""
PLACES = """ident,type,name,latitude_deg,longitude_deg,elevation_ft,icao_code
X1,large,"Ålund ""North"", main",47.50,-35.90,320,XALU
X2,medium,Brem,48.10,-36.20,,XBRM
X3,small,Cray,48.00,-36.00,100,XCRA
X4,medium,No indicator,48.00,-36.00,100,
X5,medium,Dorn,48.20,-35.00,80,XDOR
X6,medium,Nowhere,91,-35.00,80,XNOW
X7,medium,Ern,47.9,-34.10,60,XERN
"""
RUNWAYS = (
    "airport_ident,length_ft,width_ft,surface,closed,"
    "le_ident,le_latitude_deg,le_longitude_deg,le_elevation_ft,le_heading_degT,"
    "he_ident,he_latitude_deg,he_longitude_deg,he_elevation_ft,he_heading_degT\n"
    "X1,9843,148,ASP,0,9L,47.500,-35.920,300,92.5,27R,47.499,-35.880,340,272.5\n"
    "X1,6000,,CON,1,04,47.500,-35.920,,,22,47.512,-35.905,,\n"
    "X1,3000,,GRS,0,13,,,,130,31,,,,310\n"
    "X1,300,,ASP,0,H1,,,,,,,,,\n"
    "X2,8000,148,ASP,0,09,,,,90,27,,,,270\n"
    "X5,8000,148,ASP,0,09,,,,,27,,,,\n"
    "X7,8000,148,ASP,0,09,,,,270,27,,,,270\n"
)


@pytest.fixture
def tables(tmp_path: Path) -> Path:
    """The map, with the tables beside it."""
    for name, text in (("map.toml", MAP), ("places.csv", PLACES), ("runways.csv", RUNWAYS)):
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path / "map.toml"


def test_the_map_of_the_documentation_is_read_as_such(tables: Path, tmp_path: Path) -> None:
    part = OPERATION.read_text(encoding="utf-8").partition("### From open tables")[2]
    text = part.partition("```toml\n")[2].partition("```")[0]
    documented = tmp_path / "documented.toml"
    documented.write_text(text, encoding="utf-8")
    made, own = read_map(documented), read_map(tables)
    assert made.aerodromes.columns == own.aerodromes.columns
    assert made.runways.columns == own.runways.columns
    assert made.runways.ends[0] == own.runways.ends[0]


def test_what_the_tables_say_is_written_and_what_they_lack_stays_unknown(
    tables: Path, tmp_path: Path
) -> None:
    told = import_tables(tables, tmp_path / "places")
    assert told.written == ["XALU", "XERN"]
    made = load_aerodrome(tmp_path / "places" / "XALU.toml")
    assert made.name == 'Ålund "North", main'
    assert made.elevation_ft == 320.0
    assert made.approaches == ()
    assert made.rescue_category is None
    assert [each.ident for each in made.runways] == ["09L", "27R", "04", "22"]
    first, back, closed, _ = made.runways
    assert all(each.lda_m is None for each in made.runways)
    assert first.length_m == pytest.approx(3000.1, abs=0.1)
    assert (first.true_bearing_deg, back.true_bearing_deg) == (92.5, 272.5)
    assert first.slope_percent == -back.slope_percent == pytest.approx(0.41)
    assert (first.closed, closed.closed) == (None, True)
    assert closed.true_bearing_deg == pytest.approx(40.2, abs=1.0)  # from where its ends are


def test_what_cannot_be_read_is_left_out_and_told(tables: Path, tmp_path: Path) -> None:
    told = import_tables(tables, tmp_path / "places")
    assert told.left_out == {
        "runway: no name such as 09 or 27L": ["X1 H1", "X1"],
        "runway: neither a true bearing nor where both ends are": ["X5 09", "X5 27"],
        "runway: its bearing is that of the other end": ["X7 09"],
        "no elevation": ["XBRM"],
        "no runway that can be read": ["without a name", "XDOR", "XNOW"],
    }
    assert [each.ident for each in load_aerodrome(tmp_path / "places" / "XERN.toml").runways] == [
        "27"
    ]


def test_a_place_off_the_earth_or_without_an_indicator_is_left_out(
    tables: Path, tmp_path: Path
) -> None:
    table = tmp_path / "runways.csv"
    table.write_text(RUNWAYS.replace("X5,", "X6,").replace("X2,", "X4,"), encoding="utf-8")
    told = import_tables(tables, tmp_path / "places").left_out
    why = {name: reason for reason, each in told.items() for name in each}
    assert "icao is not" in why["without a name"]
    table.write_text(RUNWAYS.replace("X2,", "X6,"), encoding="utf-8")
    told = import_tables(tables, tmp_path / "places").left_out
    why = {name: reason for reason, each in told.items() for name in each}
    assert "position/latitude_deg is not" in why["XNOW"]


def test_files_that_are_there_stay_unless_they_are_to_be_replaced(
    tables: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "places"
    import_tables(tables, folder)
    own = folder / "XALU.toml"
    own.write_text(own.read_text(encoding="utf-8").replace("320", "321"), encoding="utf-8")
    told = import_tables(tables, folder)
    assert (told.written, told.kept) == ([], ["XALU", "XERN"])
    assert load_aerodrome(own).elevation_ft == 321.0
    assert import_tables(tables, folder, replace=True).written == ["XALU", "XERN"]
    assert load_aerodrome(own).elevation_ft == 320.0


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('key = "ident"', 'key = "id"', "places.csv: id: is no column; there are ident, type"),
        ("keep = { type", "keep = { kind", "places.csv: kind: is no column"),
        ('name = "name"', "", "map.toml: map: Object missing required field `name`"),
        ('name = "name"', 'name = "name"\ntown = "name"', "map.toml: map: Object contains unknown"),
        ('"runways.csv"', '"none.csv"', "none.csv: table: "),
        ("source", "source =", "map.toml: map: "),
    ],
)
def test_a_wrong_map_or_table_is_named_with_its_key(
    tables: Path, tmp_path: Path, old: str, new: str, told: str
) -> None:
    tables.write_text(MAP.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(DataError) as caught:
        import_tables(tables, tmp_path / "places")
    assert told in str(caught.value)


def test_the_command_tells_what_came_of_it(
    tables: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "places"
    assert main(["import", str(tables), str(folder)]) == 0
    told = capsys.readouterr().out
    assert f"2 aerodromes written to {folder}, 0 kept as they were" in told
    assert "not in the tables, so unknown: approaches and their minima" in told
    assert "3 landing directions without a slope: taken as level" in told
    assert "left out, no elevation: XBRM" in told
    assert main(["compile", str(folder)]) == 0
    assert main(["import", str(tmp_path / "none.toml"), str(folder)]) == 2
    assert "none.toml: map: " in capsys.readouterr().err


def test_a_place_of_the_tables_is_proposed_unknown_and_asked_for(
    tables: Path, tmp_path: Path
) -> None:
    import_tables(tables, tmp_path / "places")
    shelf = library_from(tmp_path / "places")
    body = demo("clean")
    reports = [
        *body["weather"]["reports"],
        "METAR XALU 140600Z 09010KT 9999 SCT030 07/04 Q1011",
        "TAF XALU 140500Z 1406/1506 09011KT 9999 SCT030",
    ]
    described = {
        "icao": "XDES",
        "elevation_ft": 180,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 3000}],
        "approaches": [],
    }
    body = with_changes(
        body,
        {
            "/destination": described,
            "/plan": {},
            "/alternates": [],
            "/weather/reports": reports,
            "/propose_alternates": {"most": 1, "within_nm": 100},
        },
    )
    answer = recommend_mapping(case_from_mapping(body, library=shelf))
    assert [each["icao"] for each in answer["alternates_proposed"] if each["taken"]] == ["XALU"]
    now = next(each for each in answer["courses"] if each["course"] == "divert_now:XALU")
    assert now["legal"] is None
    assert {each["rule"] for each in now["open"]} >= {"AP-01", "LD-01"}


def test_a_file_is_written_as_the_standard_library_reads_it() -> None:
    table = {
        "name": 'a "b" \\ \t\x7f é',
        "whole": 3.0,
        "part": -0.25,
        "none": [],
        "position": {"latitude_deg": 1.5},
        "runways": [{"ident": "09", "closed": True}, {"ident": "27"}],
    }
    assert tomllib.loads(as_toml(table)) == table
