"""The two readers: that the package is held to the pinned version and that a difference counts."""

from __future__ import annotations

import metar
import pytest
from metar.Metar import Metar

from decision.weather import Element, second_reading
from decision.weather.elements import Draft
from decision.weather.groups import Group, read_group
from decision.weather.second_reading import disagreements
from tests.weather.builders import read

WORDS = ("24005G15KT", "0600", "R12/0400", "TSRA", "BKN005CB", "10/05", "Q1013")


def groups_of(*words: str) -> list[Group]:
    groups = [read_group(word) for word in words]
    assert None not in groups
    return [group for group in groups if group is not None]


def draft_of(*words: str) -> Draft:
    draft = Draft()
    assert all(draft.add(group) for group in groups_of(*words))
    return draft


def test_the_package_is_the_pinned_version() -> None:
    assert metar.__version__ == "2.0.2"


def test_the_names_used_of_the_package_are_there() -> None:
    seen = Metar(
        "METAR XABC 251150Z P99KT M1/4SM".replace("P99KT", "240P99KT"), month=11, year=2026
    )

    assert seen.wind_speed is not None
    assert seen.vis is not None
    assert (seen.wind_speed._gtlt, seen.vis._gtlt) == (">", "<")
    assert {row[1].__name__ for row in second_reading._TABLE} >= {"_handleWind", "_startRemarks"}


def test_both_readers_agree_on_a_plain_observation() -> None:
    groups = groups_of(*WORDS)
    draft = Draft()
    assert all(draft.add(group) for group in groups)

    assert disagreements(groups, draft) == ()


@pytest.mark.parametrize(
    ("index", "other", "element"),
    [
        (0, "25005G15KT", Element.WIND),
        (0, "24006G15KT", Element.WIND),
        (0, "24005G16KT", Element.WIND),
        (0, "24005KT", Element.WIND),
        (0, "240P05G15KT", Element.WIND),
        (1, "0650", Element.VISIBILITY),
        (1, "9999", Element.VISIBILITY),
        (2, "R12/0450", Element.RVR),
        (2, "R12/P0400", Element.RVR),
        (2, "R13/0400", Element.RVR),
        (2, "R12/0400V0500", Element.RVR),
        (3, "RA", Element.WEATHER),
        (4, "BKN006CB", Element.CLOUD),
        (4, "SCT005CB", Element.CLOUD),
        (4, "BKN///CB", Element.CLOUD),
        (5, "11/05", Element.TEMPERATURE),
        (5, "10/04", Element.TEMPERATURE),
        (6, "Q1014", Element.PRESSURE),
    ],
)
def test_a_difference_between_the_readers_names_its_element(
    index: int, other: str, element: Element
) -> None:
    read_by_one = [*WORDS[:index], other, *WORDS[index + 1 :]]

    assert disagreements(groups_of(*WORDS), draft_of(*read_by_one)) == (element,)


@pytest.mark.parametrize("index", range(1, len(WORDS) - 1))
def test_a_group_that_only_one_reader_has_names_its_element(index: int) -> None:
    missing = disagreements(groups_of(*WORDS), draft_of(*WORDS[:index], *WORDS[index + 1 :]))

    assert missing is not None
    assert len(missing) == 1


@pytest.mark.parametrize("index", range(len(WORDS)))
def test_a_group_that_the_package_was_not_shown_names_its_element(index: int) -> None:
    shown = groups_of(*WORDS[:index], *WORDS[index + 1 :])
    missing = disagreements(shown, draft_of(*WORDS))

    assert missing is not None
    assert len(missing) == 1


def test_what_the_package_cannot_read_is_read_by_one_reader_only() -> None:
    report = read("METAR XABC 251150Z 24005KT 9999 DU/BLDU NSC 10/05 Q1013")

    assert "read by one reader only" in report.problems


def test_a_disagreement_withdraws_the_element(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "decision.weather.observation.disagreements",
        lambda *_: (Element.WIND, Element.VISIBILITY, Element.CLOUD, Element.TEMPERATURE),
    )
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
    assert any("two readers differ" in problem for problem in report.problems)


def test_a_visibility_is_not_taken_for_the_wind_that_is_missing() -> None:
    groups = groups_of(*WORDS[1:])

    assert disagreements(groups, draft_of(*WORDS[1:])) == ()


def test_an_observation_without_any_group_shows_the_package_nothing() -> None:
    assert disagreements([], Draft()) == ()
