"""What is reported against what is required: bounds, conversion, and when there is none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.minima import Quantity, Seen, reported_to_required
from decision.attempt.minima.visual_tables import (
    Installation,
    conversion_ratio,
    equivalent_minimum_m,
    equivalent_rvr_m,
    equivalent_visibility_sm,
)
from decision.case.types import Approach, Lights
from decision.quantities import Bound
from decision.rulebooks.rulebook import Rulebook, load_rulebook
from decision.weather.readings import RvrReading, VisibilityReading
from tests.attempt.minima_builders import (
    approach,
    circling,
    minima,
    rulebook_with,
    rvr,
    visibility,
)
from tests.changing import replace

SM = 1609.344


def seen(
    subject: Approach,
    *,
    touchdown: RvrReading | None = None,
    meteorological: VisibilityReading | None = None,
    rulebook: str = "easa",
    is_night: bool | None = False,
    planning: bool = False,
    book: Rulebook | None = None,
) -> Seen:
    """Compare for category C with everything working; day or night only matters to the factor."""
    return reported_to_required(
        subject,
        minima(subject, rulebook=rulebook),
        rvr=touchdown,
        visibility=meteorological or visibility(None),
        is_night=is_night,
        rulebook=book or load_rulebook(rulebook),
        planning=planning,
    )


def test_without_a_minimum_of_range_or_visibility_nothing_is_known_to_be_reached() -> None:
    neither = replace(minima(approach()), rvr_m=None, visibility_m=None)
    told = reported_to_required(
        approach(),
        neither,
        rvr=rvr(800.0),
        visibility=visibility(9_999.0),
        is_night=False,
        rulebook=load_rulebook("easa"),
    )
    assert (told.quantity, told.limit_m, told.reached) == (Quantity.NOTHING, None, None)
    assert told.because == "neither an RVR nor a visibility minimum is known"


# Europe had these figures until they became advisory; another State may have figures of its own.
FORMER = rulebook_with("easa", ban_midpoint_rvr_m=125.0, ban_stop_end_rvr_m=75.0)


@pytest.mark.parametrize(
    ("low_m", "bound", "reached"),
    [
        (549.0, Bound.EXACT, False),
        (550.0, Bound.EXACT, True),
        (551.0, Bound.EXACT, True),
        (550.0, Bound.BELOW, False),
        (549.0, Bound.BELOW, False),
        (551.0, Bound.BELOW, None),
        (550.0, Bound.ABOVE, True),
        (550.0, Bound.AT_LEAST, True),
        (549.0, Bound.AT_LEAST, False),
    ],
)
@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_a_reported_rvr_counts_as_its_bound_says(
    rulebook: str, low_m: float, bound: Bound, reached: bool | None
) -> None:
    found = seen(approach(), touchdown=rvr(low_m, bound), rulebook=rulebook)
    assert (found.quantity, found.reached) == (Quantity.RVR, reached)
    assert (found.value_m, found.limit_m, found.bound) == (low_m, 550.0, bound)


def test_an_rvr_outranks_a_better_visibility() -> None:
    found = seen(approach(), touchdown=rvr(500.0), meteorological=visibility(5000.0))
    assert (found.quantity, found.reached) == (Quantity.RVR, False)


def test_a_reading_that_may_be_worse_never_meets_a_minimum() -> None:
    assert seen(approach(), touchdown=rvr(2000.0, possibly_worse=True)).reached is None
    assert seen(approach(), touchdown=rvr(500.0, possibly_worse=True)).reached is False


@pytest.mark.parametrize(
    ("midpoint_m", "stop_end_m", "quantity", "reached"),
    [
        (125.0, 75.0, Quantity.RVR, True),
        (124.0, 75.0, Quantity.MIDPOINT_RVR, False),
        (125.0, 74.0, Quantity.STOP_END_RVR, False),
        (None, None, Quantity.RVR, True),
    ],
    ids=["EU-AO-at", "EU-AO-midpoint-below", "EU-AO-stop-end-below", "EU-AO-not-reported"],
)
def test_midpoint_and_stop_end_have_limits_of_their_own(
    midpoint_m: float | None, stop_end_m: float | None, quantity: Quantity, reached: bool
) -> None:
    reading = rvr(600.0, midpoint_m=midpoint_m, stop_end_m=stop_end_m)
    found = seen(approach(), touchdown=reading, book=FORMER)
    assert (found.quantity, found.reached) == (quantity, reached)


def test_the_midpoint_needs_no_more_than_touchdown() -> None:
    subject = approach(dh_ft=0.0, rvr_m=100.0)
    reading = rvr(100.0, midpoint_m=100.0, stop_end_m=75.0)
    assert seen(subject, touchdown=reading, book=FORMER).reached is True


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_midpoint_and_stop_end_do_not_count_where_no_figure_is_published(rulebook: str) -> None:
    reading = rvr(600.0, midpoint_m=50.0, stop_end_m=50.0)
    assert seen(approach(), touchdown=reading, rulebook=rulebook).reached is True


# --- converted visibility ---


@pytest.mark.parametrize(
    ("lights", "edge_out", "is_night", "ratio"),
    [
        (Lights.FULL, False, True, 1.5),
        (Lights.INTERMEDIATE, False, True, 1.5),
        (Lights.BASIC, False, True, 1.5),
        (Lights.NONE, False, True, 1.5),
        (Lights.FULL, True, False, 1.0),
        (Lights.NONE, True, False, 1.0),
    ],
    ids=lambda value: f"EU-AO-AMC10-{value}",
)
def test_visibility_is_converted_by_lights_and_time_of_day(
    lights: Lights, edge_out: bool, is_night: bool | None, ratio: float
) -> None:
    subject = approach(
        rvr_m=1500.0, lights=lights, equipment_out=("edge_lights",) if edge_out else ()
    )
    found = seen(subject, meteorological=visibility(1000.0), is_night=is_night)
    assert (found.quantity, found.value_m) == (Quantity.CONVERTED, 1000.0 * ratio)
    assert found.reached is (ratio >= 1.5)
    assert f"x {ratio:g}" in found.because


@pytest.mark.parametrize("lights", [Lights.FULL, Lights.INTERMEDIATE, Lights.BASIC])
@pytest.mark.parametrize(
    ("metres", "is_night", "reached"),
    [
        (1500.0, False, True),
        (1499.0, False, None),
        (1000.0, False, None),
        (999.0, False, False),
        (1000.0, True, True),
        (999.0, True, None),
        (750.0, True, None),
        (749.0, True, False),
        (999.0, None, False),
    ],
)
def test_what_only_high_intensity_lights_would_reach_is_not_known(
    lights: Lights, metres: float, is_night: bool | None, reached: bool | None
) -> None:
    """[EU-AO] AMC10: x 1.5 by day, x 2.0 at night; GM2: no class of lights proves them."""
    found = seen(
        approach(rvr_m=1500.0, lights=lights), meteorological=visibility(metres), is_night=is_night
    )
    assert found.reached is reached
    assert ("high intensity is not known" in found.because) is (reached is None)


def test_lights_that_cannot_be_bright_leave_no_question() -> None:
    found = seen(approach(rvr_m=1500.0, lights=Lights.NONE), meteorological=visibility(1400.0))
    assert (found.value_m, found.reached) == (1400.0, False)


@pytest.mark.parametrize("is_night", [True, None])
def test_without_any_lights_nothing_is_converted_at_night(is_night: bool | None) -> None:
    subject = approach(rvr_m=1500.0, lights=Lights.NONE, equipment_out=("edge_lights",))
    found = seen(subject, meteorological=visibility(9999.0), is_night=is_night)
    assert (found.quantity, found.reached, found.limit_m) == (Quantity.NOTHING, None, 1500.0)
    assert conversion_ratio(Installation.NONE, is_night=is_night) is None


def test_lights_of_unknown_class_get_the_least_factor() -> None:
    subject = approach(rvr_m=1500.0, lights=None)
    found = seen(subject, meteorological=visibility(1400.0), is_night=True)
    assert (found.value_m, found.reached) == (1400.0, False)


@pytest.mark.parametrize("rulebook", ["icao", "easa"])
def test_planning_takes_visibility_as_it_stands(rulebook: str) -> None:
    subject = approach(rvr_m=1000.0)
    for metres, reached in ((999.0, False), (1000.0, True)):
        found = seen(subject, meteorological=visibility(metres), rulebook=rulebook, planning=True)
        assert (found.value_m, found.reached) == (metres, reached)


@pytest.mark.parametrize(
    ("rulebook", "required_m", "converted"),
    [
        ("icao", 799.0, False),
        ("icao", 800.0, True),
        ("easa", 550.0, True),
        ("faa-121", 550.0, True),
        ("faa-121", 300.0, False),
        ("easa", 300.0, False),
    ],
)
def test_conversion_is_refused_for_low_minima(
    rulebook: str, required_m: float, converted: bool
) -> None:
    short_of_it = visibility(required_m - 20.0)
    subject = approach(rvr_m=required_m, lights=Lights.NONE)
    found = seen(subject, meteorological=short_of_it, rulebook=rulebook)
    assert (found.quantity is Quantity.NOTHING) is not converted
    assert ("none may be converted" in found.because) is not converted
    assert (found.reached is None) is not converted


@pytest.mark.parametrize(
    ("metres", "bound", "quantity", "reached"),
    [
        (549.0, Bound.EXACT, Quantity.NOTHING, None),
        (550.0, Bound.EXACT, Quantity.VISIBILITY, True),
        (9999.0, Bound.AT_LEAST, Quantity.VISIBILITY, True),
        (550.0, Bound.BELOW, Quantity.NOTHING, None),
        (600.0, Bound.BELOW, Quantity.NOTHING, None),
    ],
)
def test_where_nothing_is_converted_a_visibility_as_long_as_the_rvr_is_enough(
    metres: float, bound: Bound, quantity: Quantity, reached: bool | None
) -> None:
    found = seen(approach(), meteorological=visibility(metres, bound), rulebook="icao")
    assert (found.quantity, found.reached, found.limit_m) == (quantity, reached, 550.0)


@pytest.mark.parametrize(
    ("required_m", "metres", "quantity", "reached"),
    [
        (1500.0, 500.0, Quantity.RVR, True),
        (1600.0, 1000.0, Quantity.CONVERTED, False),
        (1600.0, 1600.0, Quantity.CONVERTED, True),
        (1600.0, None, Quantity.NOTHING, None),
    ],
    ids=["EU-AO-P1500-enough", "EU-AO-P1500-below", "EU-AO-P1500-above", "EU-AO-P1500-no-vis"],
)
def test_an_rvr_above_the_greatest_assessed_is_not_taken_as_reported_for_more(
    required_m: float, metres: float | None, quantity: Quantity, reached: bool | None
) -> None:
    found = seen(
        approach(rvr_m=required_m),
        touchdown=rvr(1500.0, Bound.ABOVE),
        meteorological=visibility(metres),
    )
    assert (found.quantity, found.reached) == (quantity, reached)


@pytest.mark.parametrize("reading", [rvr(None), rvr(600.0, Bound.UNKNOWN), None])
def test_an_rvr_that_is_missing_leaves_the_visibility(reading: RvrReading | None) -> None:
    found = seen(approach(), touchdown=reading, meteorological=visibility(600.0))
    assert (found.quantity, found.value_m) == (Quantity.CONVERTED, 600.0)
    assert seen(approach(), touchdown=reading).reached is None


@pytest.mark.parametrize(
    ("bound", "metres", "reached"),
    [(Bound.BELOW, 600.0, None), (Bound.BELOW, 366.0, False), (Bound.AT_LEAST, 600.0, True)],
)
def test_a_converted_visibility_keeps_its_bound(
    bound: Bound, metres: float, reached: bool | None
) -> None:
    found = seen(approach(), meteorological=visibility(metres, bound))
    assert (found.bound, found.reached) == (bound, reached)


# --- visibility minima ---


@pytest.mark.parametrize(
    ("metres", "reached"), [(2399.0, False), (2400.0, True), (2500.0, True), (None, None)]
)
@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_a_visibility_minimum_is_met_by_visibility_without_a_factor(
    rulebook: str, metres: float | None, reached: bool | None
) -> None:
    found = seen(
        circling(),
        touchdown=rvr(9999.0),
        meteorological=visibility(metres),
        rulebook=rulebook,
    )
    assert (found.quantity, found.value_m, found.reached) == (
        Quantity.VISIBILITY,
        metres,
        reached,
    )


def test_with_both_minima_published_the_visibility_counts_when_no_rvr_is_reported() -> None:
    subject = approach(visibility_m=800.0)
    assert seen(subject, meteorological=visibility(700.0)).reached is False
    assert seen(subject, touchdown=rvr(550.0), meteorological=visibility(700.0)).reached is True


def test_without_a_minimum_nothing_can_be_compared() -> None:
    found = seen(approach(rvr_m=None, lights=None), touchdown=rvr(9999.0))
    assert (found.quantity, found.limit_m, found.reached) == (Quantity.NOTHING, None, None)


# --- comparable values ---


@pytest.mark.parametrize(
    ("visibility_sm", "rvr_m"),
    [
        (0.2, None),
        (0.25, 500.0),
        (0.5, 750.0),
        (0.625, 900.0),
        (0.75, 1200.0),
        (0.875, 1300.0),
        (1.0, 1500.0),
        (1.25, 1800.0),
        (6.0, 1800.0),
    ],
    ids=lambda value: f"CFR-91-{value}",
)
def test_comparable_values_are_the_published_ones(
    visibility_sm: float, rvr_m: float | None
) -> None:
    assert equivalent_rvr_m(visibility_sm * SM) == rvr_m
    assert equivalent_rvr_m(round(visibility_sm * SM)) == rvr_m


@pytest.mark.parametrize(
    ("rvr_m", "visibility_sm"), [(500.0, 0.25), (501.0, 0.5), (1800.0, 1.25), (1801.0, None)]
)
def test_a_minimum_takes_the_next_higher_comparable_value(
    rvr_m: float, visibility_sm: float | None
) -> None:
    assert equivalent_visibility_sm(rvr_m) == visibility_sm


def test_beyond_the_table_a_visibility_minimum_is_plain_metres() -> None:
    assert equivalent_minimum_m(1.1) == 1800.0
    assert equivalent_minimum_m(1.5) == 1.5 * SM


@pytest.mark.parametrize(
    ("visibility_sm", "required_m", "reached"),
    [
        (0.5, 750.0, True),
        (0.5, 751.0, False),
        (0.25, 550.0, False),
        (0.125, 550.0, False),
        (0.75, 1200.0, True),
    ],
    ids=lambda value: f"CFR-91-{value}",
)
@pytest.mark.parametrize("planning", [False, True])
def test_part_121_compares_by_the_table_of_comparable_values(
    visibility_sm: float, required_m: float, reached: bool, planning: bool
) -> None:
    found = seen(
        approach(rvr_m=required_m),
        meteorological=visibility(visibility_sm * SM),
        rulebook="faa-121",
        planning=planning,
    )
    assert (found.quantity, found.reached) == (Quantity.EQUIVALENT, reached)


def test_the_same_report_is_enough_for_one_rulebook_and_not_for_another() -> None:
    subject = approach(rvr_m=1000.0)
    report = visibility(1050.0)
    assert seen(subject, meteorological=report, rulebook="easa").reached is True
    assert seen(subject, meteorological=report, rulebook="faa-121").reached is False


@given(
    metres=st.floats(0.0, 10_000.0),
    more=st.floats(0.0, 5_000.0),
    required_m=st.floats(75.0, 5_000.0),
    rulebook=st.sampled_from(("icao", "easa", "faa-121")),
    is_night=st.sampled_from((True, False, None)),
)
def test_more_visibility_never_gives_a_worse_answer(
    metres: float, more: float, required_m: float, rulebook: str, is_night: bool | None
) -> None:
    subject = approach(rvr_m=required_m)
    before = seen(subject, meteorological=visibility(metres), rulebook=rulebook, is_night=is_night)
    after = seen(
        subject, meteorological=visibility(metres + more), rulebook=rulebook, is_night=is_night
    )
    rising = (False, None, True)  # surely short, not known, reached
    assert rising.index(after.reached) >= rising.index(before.reached)
