"""The two readers: that both read plain groups alike and that a difference counts."""

from __future__ import annotations

import pytest

from decision.weather import Element, observation
from decision.weather.groups import Group, read_group
from decision.weather.second_reading import Dissent, dissent
from tests.weather.builders import observed, read

ONE_READER = "read by one reader only"


def group_of(word: str) -> Group:
    group = read_group(word)
    assert group is not None
    return group


@pytest.fixture
def second_reader_sees(monkeypatch: pytest.MonkeyPatch) -> dict[str, Dissent]:
    """Dissents that the second reader has at words, whatever it would read there."""
    told: dict[str, Dissent] = {}
    monkeypatch.setattr(observation, "dissent", lambda _, raw: told.get(raw))
    monkeypatch.setattr(observation, "_word", observation._word.__wrapped__)  # nothing remembered
    return told


@pytest.mark.parametrize(
    "word",
    [
        "24005G15KT", "VRB02KT", "240P99KT", "00000MPS", "0600", "9999", "M1/4SM", "P6SM",
        "R12/0400", "R12L/M0050V0400", "R12/P2000", "R12/1200FT", "TSRA", "-FZDZ", "+SHSN", "VCTS",
        "BKN005CB", "VV001", "VV///", "BKN///", "SCT010///", "//////CB", "10/05", "M05/", "Q1013",
        "A2992", "///005", "SNRA",
    ],
)  # fmt: skip
def test_both_readers_read_the_same_in_a_plain_group(word: str) -> None:
    assert dissent(group_of(word), word) is None


@pytest.mark.parametrize("word", ["////", "R12/////", "//////", "/////", "Q////", "CAVOK", "RERA"])
def test_a_group_that_gives_no_figure_is_not_shown_to_the_package(word: str) -> None:
    assert dissent(group_of(word), "12345678") is None


@pytest.mark.parametrize(
    ("word", "other", "element"),
    [
        ("24005G15KT", "25005G15KT", Element.WIND),
        ("24005G15KT", "24006G15KT", Element.WIND),
        ("24005G15KT", "24005G16KT", Element.WIND),
        ("24005G15KT", "24005KT", Element.WIND),
        ("24005KT", "24005G15KT", Element.WIND),
        ("24005G15KT", "240P05G15KT", Element.WIND),
        ("0600", "0650", Element.VISIBILITY),
        ("0600", "9999", Element.VISIBILITY),
        ("1/4SM", "M1/4SM", Element.VISIBILITY),
        ("0600", "////", Element.VISIBILITY),
        ("R12/0400", "R12/0450", Element.RVR),
        ("R12/0400", "R12/P0400", Element.RVR),
        ("R12/0400", "R13/0400", Element.RVR),
        ("R12/0400", "R12/////", Element.RVR),
        ("R12/0400", "R12/0300V0500", Element.RVR),
        ("R12/0400V0500", "R12/0400V0600", Element.RVR),
        ("TSRA", "RA", Element.WEATHER),
        ("BKN005CB", "BKN006CB", Element.CLOUD),
        ("BKN005CB", "SCT005CB", Element.CLOUD),
        ("BKN005CB", "BKN///CB", Element.CLOUD),
        ("BKN005CB", "NSC", Element.CLOUD),
        ("10/05", "11/05", Element.TEMPERATURE),
        ("10/05", "10/04", Element.TEMPERATURE),
        ("10/05", "10/", Element.TEMPERATURE),
        ("Q1013", "Q1014", Element.PRESSURE),
        ("Q1013", "Q////", Element.PRESSURE),
    ],
)
def test_a_difference_between_the_readers_names_its_element(
    word: str, other: str, element: Element
) -> None:
    assert dissent(group_of(word), other) == Dissent(element, unreadable=False)


@pytest.mark.parametrize(
    "word", ["24005KT", "0600", "R12/0400", "TSRA", "BKN005", "10/05", "Q1013"]
)
def test_a_word_that_the_package_cannot_read_names_its_element_too(word: str) -> None:
    found = dissent(group_of(word), "NOWORD")

    assert found is not None
    assert found.unreadable


def test_what_the_package_cannot_read_is_read_by_one_reader_only() -> None:
    report = read("METAR XABC 251150Z 24005KT 9999 DU/BLDU NSC 10/05 Q1013")

    assert ONE_READER in report.problems


def test_a_disagreement_withdraws_the_element(second_reader_sees: dict[str, Dissent]) -> None:
    second_reader_sees |= {
        "24005KT": Dissent(Element.WIND, unreadable=False),
        "9999": Dissent(Element.VISIBILITY, unreadable=False),
        "BKN030": Dissent(Element.CLOUD, unreadable=False),
        "10/05": Dissent(Element.TEMPERATURE, unreadable=False),
        "Q1013": Dissent(Element.PRESSURE, unreadable=False),
    }
    report = read("METAR XABC 251150Z 24005KT 9999 BKN030 10/05 Q1013")
    elements = report.elements

    assert elements is not None
    assert elements.wind is not None
    assert elements.visibility is not None
    assert elements.ceiling is not None
    assert elements.wind.speed_kt is None
    assert elements.visibility.metres is None
    assert elements.ceiling.state == "unknown"
    assert elements.temperature is None
    assert elements.pressure is None
    assert report.problems == (
        "two readers differ on wind, visibility, cloud, temperature, pressure",
    )


def test_of_wind_and_visibility_the_first_is_held_against_the_second_reader(
    second_reader_sees: dict[str, Dissent],
) -> None:
    second_reader_sees |= {
        "25006KT": Dissent(Element.WIND, unreadable=True),
        "0800SW": Dissent(Element.VISIBILITY, unreadable=True),
    }
    assert (
        ONE_READER
        not in read("METAR XABC 251150Z 24005KT 25006KT 3000 0800SW BKN030 10/05 Q1013").problems
    )
    assert ONE_READER in read("METAR XABC 251150Z 25006KT 3000 BKN030 10/05 Q1013").problems


def test_of_pressure_the_one_that_is_kept_is_held_against_the_second_reader(
    second_reader_sees: dict[str, Dissent],
) -> None:
    second_reader_sees["A2992"] = Dissent(Element.PRESSURE, unreadable=False)

    assert Element.PRESSURE not in observed("24005KT 9999 NSC 10/05 A2992 Q1013").unknown
    assert Element.PRESSURE in observed("24005KT 9999 NSC 10/05 A2992").unknown


def test_a_visibility_is_not_taken_for_the_wind_that_is_missing() -> None:
    elements = observed("0600 BKN005 10/05 Q1013")

    assert elements.unknown == {Element.WIND}
