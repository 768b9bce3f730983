"""The tables behind the readings: complete, cited, and refused when they are not."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from decision.errors import DataError
from decision.tables import TABLES, rows
from decision.weather import phenomena, use
from decision.weather.report import Intensity, WeatherGroup
from decision.weather.use import Counts, Group, Nature, Reading, use_of

OVERLAYS = (Group.TEMPORARY, Group.PROBABLE, Group.PROBABLE_TEMPORARY)


def cells(reading: Reading, group: Group, nature: Nature) -> tuple[str, str, str, str]:
    row = use_of(reading, group, nature)
    return row.deterioration, row.improvement, row.mean_wind, row.gust


@pytest.mark.parametrize(
    ("group", "nature", "expected"),
    [
        ("from", "persistent", ("from_start", "from_start", "applicable", "disregarded")),
        ("becoming_at", "persistent", ("from_start", "from_start", "applicable", "disregarded")),
        ("becoming", "persistent", ("from_start", "from_end", "applicable", "disregarded")),
        ("temporary", "persistent", ("applicable", "disregarded", "applicable", "disregarded")),
        ("temporary", "transient", ("disregarded",) * 4),
        ("probable", "persistent", ("applicable", "disregarded", "applicable", "disregarded")),
        ("probable", "transient", ("disregarded",) * 4),
        ("probable_temporary", "persistent", ("disregarded",) * 4),
        ("probable_temporary", "transient", ("disregarded",) * 4),
    ],
    ids=lambda value: f"EU-AO-FORECAST-{value}" if isinstance(value, str) else "",
)
def test_the_change_group_table_of_the_persistent_reading(
    group: str, nature: str, expected: tuple[str, ...]
) -> None:
    assert cells(Reading.PERSISTENT, Group(group), Nature(nature)) == expected


@pytest.mark.parametrize("nature", Nature)
@pytest.mark.parametrize("group", OVERLAYS)
def test_every_conditional_element_counts_with_its_gust_in_the_other_reading(
    group: Group, nature: Nature
) -> None:
    expected = ("applicable", "disregarded", "applicable", "applicable")
    assert cells(Reading.CONDITIONAL, group, nature) == expected


@pytest.mark.parametrize(("reading", "group", "nature"), list(product(Reading, OVERLAYS, Nature)))
def test_no_overlay_ever_improves_anything(reading: Reading, group: Group, nature: Nature) -> None:
    assert use_of(reading, group, nature).improvement is Counts.DISREGARDED


def test_every_cell_names_its_source_and_confidence() -> None:
    read = list(rows(use.FILE, columns=frozenset()))
    assert len(read) == 40 + 32
    assert {row.text("source") for row in read} == {"EU-AO-FORECAST", "FAA-C055", "ASSUMED"}


@pytest.mark.parametrize(
    ("descriptors", "phenomenon", "transient", "icing", "effect"),
    [
        (("TS",), "RA", True, True, "wet"),
        (("SH",), "SN", True, True, "frozen"),
        (("SH",), None, True, False, "wet"),
        (("TS",), None, True, True, "none"),
        (("FZ",), "RA", False, True, "frozen"),
        (("FZ",), "FG", False, True, "frozen"),
        ((), "BR", False, False, "none"),
        ((), "DZ", False, False, "wet"),
        ((), "FC", True, False, "none"),
        ((), "XX", False, True, "frozen"),
    ],
)
def test_the_classes_of_weather(
    descriptors: tuple[str, ...],
    phenomenon: str | None,
    transient: bool,
    icing: bool,
    effect: str,
) -> None:
    group = WeatherGroup(
        intensity=Intensity.MODERATE,
        descriptors=descriptors,
        phenomena=(phenomenon,) if phenomenon else (),
        raw="",
    )
    assert phenomena.is_transient(group) is transient
    assert phenomena.bears_icing(group) is icing
    assert phenomena.runway_effect([group]) == effect


def test_the_weather_table_has_every_code_once() -> None:
    read = [row.text("code") for row in rows(phenomena.FILE, columns=frozenset({"code"}))]
    assert len(read) == len(set(read)) == len(phenomena.phenomena())


HEADER = "code,figure,source,confidence"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("code,figure,source\nA,1,GRF", "lacks confidence"),
        (f"{HEADER}\nA,1,GRF", "as many cells"),
        (f"{HEADER}\nA,1,GRF,found,more", "as many cells"),
        (f"{HEADER}\nA,1,,found", "must not be empty"),
        (f"{HEADER}\nA,1,NOWHERE,found", "not in the bibliography"),
        (f"{HEADER}\nA,1,GRF,certain", "must be one of"),
    ],
)
def test_a_table_without_provenance_is_refused(tmp_path: Path, text: str, problem: str) -> None:
    (tmp_path / "t.csv").write_text(text, encoding="utf-8")
    with pytest.raises(DataError, match=problem):
        list(rows("t.csv", columns=frozenset({"code"}), folder=tmp_path))


@pytest.mark.parametrize(
    ("figure", "number", "whole"),
    [
        ("3", 3.0, 3),
        ("", None, "must not be empty"),
        ("-15", -15.0, "whole number from 0 to 6"),
        ("7", 7.0, "whole number from 0 to 6"),
        ("x", "not a number", "whole number from 0 to 6"),
    ],
)
def test_cells_are_read_as_what_they_must_be(
    tmp_path: Path, figure: str, number: float | str | None, whole: int | str
) -> None:
    (tmp_path / "t.csv").write_text(f"{HEADER}\nA,{figure},GRF,found\n", encoding="utf-8")
    (row,) = rows("t.csv", columns=frozenset({"code"}), folder=tmp_path)
    if isinstance(number, str):
        with pytest.raises(DataError, match=number):
            row.number_or_none("figure")
    else:
        assert row.number_or_none("figure") == number
    if isinstance(whole, str):
        with pytest.raises(DataError, match=whole):
            row.whole("figure", low=0, high=6)
    else:
        assert row.whole("figure", low=0, high=6) == whole


def test_a_change_group_table_with_a_hole_is_refused(tmp_path: Path) -> None:
    lines = (TABLES / use.FILE).read_text(encoding="utf-8").splitlines()
    (tmp_path / use.FILE).write_text("\n".join(lines[:-1]), encoding="utf-8")
    with pytest.raises(DataError, match="no cell for this case"):
        use.read_table(tmp_path)
