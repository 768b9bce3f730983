"""A runway condition report: which runway, which third, until when, and what it never does."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.noticed import Noticed, noticed_in
from decision.case import installed_library
from decision.notices import Notice, standing_notices
from decision.notices.condition_report import sentences_known
from decision.weather.runway import RunwayCondition, runway_condition
from decision.windows import Window, around
from tests.notices.builders import AS_OF, PLACE, read, snowtam
from tests.rules.builders import seen

KALDA = installed_library().aerodromes[PLACE]
ARRIVAL = datetime(2026, 3, 14, 6, 20, tzinfo=UTC)
EIGHT_HOURS = timedelta(hours=8)


def noticed(*raw: str, window: Window | None = None) -> Noticed:
    """The demo place with reports, in a quarter of an hour from the arrival."""
    standing = standing_notices(
        [Notice(raw=each) for each in raw], places=[PLACE], received_at=AS_OF
    )
    there = window or around(ARRIVAL, before_min=0, after_min=15)
    return noticed_in(KALDA, standing.at[PLACE], there)


def condition(place: Noticed, runway: str = "27R") -> RunwayCondition:
    """The runway as the reports leave it, on a day without weather."""
    weather = seen()
    return runway_condition(
        runway=runway,
        weather=weather,
        landing_at=ARRIVAL,
        noticed=place.evidence(runway, weather.temperature_degc),
    )


def thirds(found: RunwayCondition) -> tuple[int | None, ...]:
    return tuple(each.code for each in found.thirds)


def test_the_thirds_are_turned_for_a_landing_from_the_other_end() -> None:
    place = noticed(snowtam("5/3/2 100/100/100 NR/NR/06 WET/SLIPPERY WET/SLUSH"))
    assert thirds(condition(place, "09L")) == (5, 3, 2)
    assert thirds(condition(place, "27R")) == (2, 3, 5)
    assert condition(place, "27R").code == 2
    assert condition(place, "27L").code == 6  # the report says nothing of the other strip


@pytest.mark.parametrize(
    ("at", "holds"),
    [
        (ARRIVAL - EIGHT_HOURS + timedelta(minutes=15), True),  # to the end of the window
        (ARRIVAL - EIGHT_HOURS + timedelta(minutes=14), False),
        (ARRIVAL - timedelta(minutes=10), True),
    ],
)
def test_a_report_holds_for_eight_hours(at: datetime, holds: bool) -> None:
    place = noticed(snowtam(at=f"{at:%m%d%H%M}"))
    assert [each.holds for each in place.reported] == [holds]
    assert condition(place).code == (2 if holds else None)


def test_an_old_report_leaves_the_runway_unknown_and_not_dry() -> None:
    assert (
        condition(noticed(snowtam("6/6/6 NR/NR/NR NR/NR/NR DRY/DRY/DRY", at="03132000"))).code
        is None
    )


def test_the_newest_report_of_a_runway_counts() -> None:
    wet = "5/5/5 100/100/100 NR/NR/NR WET/WET/WET"
    old, new = snowtam(at="03140500"), snowtam(wet, at="03140600")
    for order in ((old, new), (new, old)):
        assert condition(noticed(*order)).code == 5
    both = noticed(snowtam(), snowtam(wet))
    assert condition(both).code == 2  # of one time the worse


@pytest.mark.parametrize(
    "text",
    [
        snowtam("5/5/7 100/100/100 NR/NR/NR WET/WET/WET"),  # no such code
        snowtam("5/5/5 100/100/100 NR/NR/NR WET/WET/DAMP"),  # no such surface
        snowtam("5/5/5", rest=""),  # the surface is mandatory
        snowtam(runway="27R"),  # the higher designator
        snowtam(at="03142200"),  # not yet
        snowtam(at="13140600"),  # no such month
        snowtam()[:-12],  # cut
    ],
)
def test_a_report_that_cannot_be_read_leaves_the_runway_unknown(text: str) -> None:
    assert not read(text).wholly_read
    assert condition(noticed(text)).code is None


def test_a_newer_report_that_cannot_be_read_takes_the_older_one_away() -> None:
    unreadable = snowtam("5/5/X 100/100/100 NR/NR/NR WET/WET/WET", at="03140605")
    found = condition(noticed(snowtam(at="03140600"), unreadable))
    assert found.code is None
    assert found.best_code == 2  # which may have got worse since
    other = snowtam("5/5/X 100/100/100 NR/NR/NR WET/WET/WET", runway="09R", at="03140605")
    assert condition(noticed(snowtam(at="03140600"), other)).code == 2


@pytest.mark.parametrize(
    ("run", "code"),
    [
        ("5/5/5 100/100/100 03/03/03 SLUSH/SLUSH/SLUSH", 5),  # a row has 3 mm with code 5
        ("5/5/5 100/100/100 06/06/06 SLUSH/SLUSH/SLUSH", 2),  # no row has 6 mm with it
        ("5/5/5 100/100/100 NR/NR/NR SLUSH/SLUSH/SLUSH", 5),  # a depth that is not said may fit
        ("6/6/6 25/25/25 06/06/06 SLUSH/SLUSH/SLUSH", 6),  # a quarter is not contaminated
        ("3/3/3 100/100/100 NR/NR/NR ICE/ICE/ICE", 1),  # upgraded by the aerodrome
        (
            "4/4/4 100/100/100 NR/NR/NR COMPACTED SNOW/COMPACTED SNOW/COMPACTED SNOW",
            3,
        ),  # 12 degrees
    ],
)
def test_a_surface_lowers_a_code_that_no_row_of_the_matrix_has(run: str, code: int) -> None:
    assert condition(noticed(snowtam(run))).code == code


def test_a_reduced_length_shortens_the_runway_from_both_ends() -> None:
    place = noticed(snowtam(rest=" RWY 09L REDUCED TO 1450."))
    assert [place.aerodrome.runway(each).lda_m for each in ("09L", "27R")] == [1450, 1450]
    narrow = noticed(snowtam("5/5/5 100/100/100 NR/NR/NR WET/WET/WET 30"))
    assert narrow.aerodrome.runway("27R").width_m == 30


@pytest.mark.parametrize(
    "sentence",
    [
        "RWY 09L REDUCED TO 1450.",
        "DRIFTING SNOW.",
        "RWY 09L LOOSE SAND.",
        "RWY 09L CHEMICALLY TREATED.",
        "RWY 09L SNOWBANK LR20 FM CL.",
        "RWY 09L ADJ SNOWBANKS.",
        "TWY B SNOWBANK.",
        "ALL TWYS POOR.",
        "APRON NORTH POOR.",
    ],
)
def test_a_sentence_of_the_format_is_read(sentence: str) -> None:
    assert len(list(sentences_known())) == 9
    assert read(snowtam(rest=f" {sentence}")).wholly_read


def test_another_sentence_is_listed() -> None:
    notice = read(snowtam(rest=" RWY 27R CLSD."))
    assert notice.unread == ("RWY 27R CLSD.",)


CODE = st.integers(0, 6)
SURFACE = st.sampled_from(["WET", "SLUSH", "DRY SNOW", "ICE", "NR", "DRY"])


@given(
    st.tuples(CODE, CODE, CODE),
    st.tuples(SURFACE, SURFACE, SURFACE),
    st.sampled_from(["NR", "03", "12"]),
    st.sampled_from(["03132000", "03140600", "99999999"]),
)
def test_a_report_never_makes_a_runway_better_than_it_says_nor_than_it_was(
    codes: tuple[int, ...], surfaces: tuple[str, ...], depth: str, at: str
) -> None:
    run = f"{'/'.join(map(str, codes))} 100/100/100 {'/'.join([depth] * 3)} {'/'.join(surfaces)}"
    found, before = condition(noticed(snowtam(run, at=at))), condition(noticed(snowtam(at="1")))
    assert found.code is None or found.code <= min(codes)
    assert found.best_code <= before.best_code
