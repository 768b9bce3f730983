"""Planning minima: the published tables, worked examples, and which approaches go together."""

from __future__ import annotations

from typing import Any

import pytest

from decision.attempt.category import AeroplaneCategory
from decision.attempt.minima import (
    PlanningMinima,
    Scheme,
    planning_met,
    planning_minima,
    same_strip,
)
from decision.case.types import Aerodrome, ApproachKind, Lights
from decision.citations import Confidence
from decision.rulebooks.rulebook import load_rulebook
from decision.units import statute_miles_to_m
from decision.weather.report import CeilingState
from tests.attempt.minima_builders import (
    aerodrome,
    approach,
    ceiling,
    circling,
    non_precision,
    visibility,
)
from tests.changing import replace

SM = statute_miles_to_m(1.0)
ILS_A = approach(id="ILS 09L", runway="09L")
ILS_B = approach(id="ILS 09R", runway="09R")
US_A = approach(id="ILS 09", rvr_m=None, visibility_m=0.5 * SM)
US_B = approach(id="ILS 18", runway="18", dh_ft=250.0, rvr_m=None, visibility_m=0.75 * SM)


def planning(
    place: Aerodrome,
    *,
    rulebook: str = "easa",
    scheme: Scheme | None = None,
    category: AeroplaneCategory | None = AeroplaneCategory.C,
    is_night: bool | None = False,
    lost: tuple[str, ...] = (),
    approvals: tuple[str, ...] = (),
    runways: frozenset[str] | None = None,
) -> PlanningMinima:
    """Planning minima by day for category C with everything working."""
    return planning_minima(
        place,
        rulebook=load_rulebook(rulebook),
        category=category,
        is_night=is_night,
        lost_equipment=frozenset(lost),
        approvals=frozenset(approvals),
        usable_runways=runways,
        scheme=scheme,
    )


@pytest.mark.parametrize(
    ("place", "scheme", "ceiling_ft", "visibility_m"),
    [
        (aerodrome(ILS_A), Scheme.BASIC, 400.0, 1350.0),
        (aerodrome(ILS_A), None, 400.0, 1350.0),
        (aerodrome(ILS_A), Scheme.VARIATIONS, 350.0, 1000.0),
        (aerodrome(ILS_A, ILS_B, separate=True), Scheme.VARIATIONS, 300.0, 850.0),
        (aerodrome(ILS_A, ILS_B, separate=True), Scheme.BASIC, 400.0, 1350.0),
        (aerodrome(ILS_A, ILS_B, separate=False), Scheme.VARIATIONS, 350.0, 1000.0),
        (aerodrome(ILS_A, ILS_B, separate=None), Scheme.VARIATIONS, 350.0, 1000.0),
    ],
    ids=[
        "EU-AO-PLANNING-AMC6-one-ILS",
        "EU-AO-PLANNING-AMC6-by-default",
        "EU-AO-PLANNING-AMC8-one-ILS",
        "EU-AO-PLANNING-AMC8-two-ILS-separate-runways",
        "EU-AO-PLANNING-AMC6-knows-no-second-ILS",
        "EU-AO-PLANNING-AMC8-dependent-runways",
        "EU-AO-PLANNING-AMC8-separation-not-stated",
    ],
)
def test_european_worked_examples(
    place: Aerodrome, scheme: Scheme | None, ceiling_ft: float, visibility_m: float
) -> None:
    found = planning(place, scheme=scheme)
    assert (found.ceiling_ft, found.visibility_m) == (ceiling_ft, visibility_m)
    assert found.available is True
    assert found.confidence is Confidence.QUOTED


@pytest.mark.parametrize(
    ("place", "scheme", "ceiling_ft", "visibility_sm"),
    [
        (aerodrome(US_A), None, 600.0, 1.5),
        (aerodrome(US_A, US_B), None, 450.0, 1.25),
        (aerodrome(US_A), Scheme.STANDARD_ALTERNATE, 600.0, 3200.0 / SM),
    ],
    ids=["FAA-C055-one-navaid", "FAA-C055-two-navaids", "CFR-91-169-precision"],
)
def test_united_states_worked_examples(
    place: Aerodrome, scheme: Scheme | None, ceiling_ft: float, visibility_sm: float
) -> None:
    found = planning(place, rulebook="faa-121", scheme=scheme)
    assert found.ceiling_ft == ceiling_ft
    assert found.visibility_m == pytest.approx(visibility_sm * SM)


def test_an_addition_is_made_in_the_unit_of_the_minimum() -> None:
    metric = aerodrome(approach(rvr_m=None, visibility_m=800.0))
    assert planning(metric, rulebook="faa-121").visibility_m == 2400.0


def test_icao_leaves_the_figures_to_the_state_and_uses_the_european_ones() -> None:
    assert planning(aerodrome(ILS_A), rulebook="icao") == planning(aerodrome(ILS_A))


@pytest.mark.parametrize(
    ("subject", "scheme", "ceiling_ft", "visibility_m"),
    [
        (non_precision(mdh_ft=500.0, rvr_m=1500.0), Scheme.BASIC, 900.0, 3000.0),
        (non_precision(mdh_ft=500.0, rvr_m=1500.0), Scheme.VARIATIONS, 900.0, 3000.0),
        (circling(), Scheme.BASIC, 1050.0, 3900.0),
        (circling(), Scheme.VARIATIONS, 1050.0, 3900.0),
        (
            approach(kind=ApproachKind.TYPE_A_3D, dh_ft=300.0, rvr_m=1000.0),
            Scheme.VARIATIONS,
            500.0,
            1800.0,
        ),
        (
            approach(kind=ApproachKind.TYPE_A_3D, dh_ft=300.0, rvr_m=1000.0, needs=("GNSS",)),
            Scheme.VARIATIONS,
            700.0,
            2500.0,
        ),
        (
            approach(kind=ApproachKind.TYPE_A_3D, dh_ft=300.0, rvr_m=1000.0, needs=("RNP-AR",)),
            Scheme.VARIATIONS,
            700.0,
            2500.0,
        ),
    ],
    ids=[
        "EU-AO-PLANNING-AMC6-type-A",
        "EU-AO-PLANNING-AMC8-type-A",
        "EU-AO-PLANNING-AMC6-circling",
        "EU-AO-PLANNING-AMC8-circling",
        "EU-AO-PLANNING-AMC8-type-A-on-a-precision-aid",
        "EU-AO-PLANNING-AMC8-type-A-on-GNSS",
        "EU-AO-PLANNING-AMC8-type-A-on-an-aid-not-in-the-table",
    ],
)
def test_each_row_of_the_european_tables(
    subject: object, scheme: Scheme, ceiling_ft: float, visibility_m: float
) -> None:
    found = planning(aerodrome(subject), scheme=scheme)  # type: ignore[arg-type]
    assert (found.ceiling_ft, found.visibility_m) == (ceiling_ft, visibility_m)


@pytest.mark.parametrize(
    ("needs", "ceiling_ft", "visibility_m"),
    [
        ((("VOR",), ("LOC",)), 800.0, 2700.0),
        ((("VOR", "DME"), ("LOC", "DME")), 900.0, 3000.0),
        (((), ("LOC",)), 900.0, 3000.0),
    ],
    ids=["EU-AO-PLANNING-AMC8-separate-aids", "shared-aid", "aid-not-given"],
)
def test_two_type_a_need_an_aid_each_and_the_higher_figures_count(
    needs: tuple[tuple[str, ...], tuple[str, ...]], ceiling_ft: float, visibility_m: float
) -> None:
    place = aerodrome(
        non_precision(id="first", needs=needs[0], mdh_ft=500.0, rvr_m=1500.0),
        non_precision(id="second", needs=needs[1], mdh_ft=600.0, rvr_m=1700.0),
    )
    found = planning(place, scheme=Scheme.VARIATIONS)
    assert (found.ceiling_ft, found.visibility_m) == (ceiling_ft, visibility_m)


def test_the_lowest_option_comes_first_and_names_its_approaches() -> None:
    place = aerodrome(circling(), non_precision(rvr_m=1500.0), ILS_A)
    found = planning(place)
    assert [each.approaches for each in found.options] == [
        ("ILS 09L",),
        ("VOR 09",),
        ("circling 27",),
    ]
    assert found.options[0].runways == ("09L",)
    assert found.options[0].because == "Type B instrument approach [EU-AO-PLANNING]"


# --- what does not count ---


@pytest.mark.parametrize(
    ("place", "asked", "why"),
    [
        (aerodrome(ILS_A), {"lost": ("ILS",)}, "needs ILS, which is lost"),
        (aerodrome(ILS_A, closed=("09L",)), {}, "runway 09L is closed"),
        (aerodrome(ILS_A), {"runways": frozenset({"27"})}, "runway 09L is not usable"),
        (
            aerodrome(approach(needs=("GNSS",), dh_ft=250.0)),
            {"rulebook": "faa-121"},
            "GNSS at an alternate needs GNSS_ALTERNATE",
        ),
        (
            aerodrome(approach(dh_ft=100.0, rvr_m=300.0)),
            {"rulebook": "faa-121", "approvals": ("LVO",)},
            "low-visibility minima at an alternate need LVO_ALTERNATE",
        ),
    ],
)
def test_an_approach_that_cannot_be_used_does_not_count(
    place: Aerodrome, asked: dict[str, object], why: str
) -> None:
    found = planning(place, **asked)  # type: ignore[arg-type]
    assert found.available is False
    assert (found.ceiling_ft, found.visibility_m, found.confidence) == (None, None, None)
    assert why in found.because[0]


def test_a_runway_that_is_usable_counts() -> None:
    assert planning(aerodrome(ILS_A), runways=frozenset({"09L"})).available is True


def test_minima_that_are_not_known_leave_the_aerodrome_unknown() -> None:
    found = planning(aerodrome(approach(dh_ft=None)))
    assert found.available is None
    assert found.unknown == ("ILS 09: minimum height not published",)


def test_one_unknown_approach_does_not_spoil_a_known_one() -> None:
    assert planning(aerodrome(approach(dh_ft=None), ILS_A)).ceiling_ft == 400.0


def test_planning_minima_of_a_place_whose_approaches_nobody_describes_are_not_known() -> None:
    found = planning(aerodrome())
    assert (found.available, found.options) == (None, ())


# --- United States ---


@pytest.mark.parametrize(
    ("first", "second", "together"),
    [
        (US_A, US_B, True),
        (US_A, approach(id="LOC 09", needs=("LOC",), visibility_m=SM), False),
        (US_A, circling(), False),
        (
            approach(id="RNP 09", needs=("GNSS",), dh_ft=250.0),
            approach(id="RNP 18", needs=("GNSS",), dh_ft=250.0, runway="18"),
            False,
        ),
        (approach(id="RNP 09", needs=("GNSS",), dh_ft=250.0), US_B, True),
    ],
    ids=["different-runways", "one-runway", "circling", "gnss-twice", "gnss-and-ils"],
)
def test_two_navaids_serve_straight_in_approaches_to_different_runways(
    first: object, second: object, together: bool
) -> None:
    place = aerodrome(first, second)  # type: ignore[arg-type]
    found = planning(place, rulebook="faa-121", approvals=("GNSS_ALTERNATE",))
    assert any(len(each.approaches) == 2 for each in found.options) is together


@pytest.mark.parametrize(
    ("dh_ft", "ceiling_ft", "visibility_m", "confidence"),
    [
        (100.0, 300.0, 1200.0, Confidence.MEMORY),
        (50.0, 200.0, 550.0, Confidence.QUOTED),
    ],
    ids=["FAA-C055-category-II", "FAA-C055-category-III"],
)
def test_low_visibility_credit_is_a_fixed_figure(
    dh_ft: float, ceiling_ft: float, visibility_m: float, confidence: Confidence
) -> None:
    low = approach(dh_ft=dh_ft, rvr_m=200.0)
    other = replace(low, id="ILS 18", runway="18")
    place = aerodrome(low, other, separate=True)
    found = planning(place, rulebook="faa-121", approvals=("LVO", "LVO_ALTERNATE"))
    assert (found.ceiling_ft, found.visibility_m) == (ceiling_ft, visibility_m)
    assert found.confidence is confidence
    assert [option.runways for option in found.options] == [("09", "18")]


def test_of_two_credited_approaches_the_lesser_category_counts() -> None:
    first = approach(dh_ft=50.0, rvr_m=200.0)
    second = approach(id="ILS 18", runway="18", dh_ft=100.0, rvr_m=300.0)
    found = planning(
        aerodrome(first, second, separate=True),
        rulebook="faa-121",
        approvals=("LVO", "LVO_ALTERNATE"),
    )
    assert (found.ceiling_ft, found.visibility_m) == (300.0, 1200.0)


@pytest.mark.parametrize(
    ("other", "separate"),
    [
        (None, True),
        (("ILS 27", "27"), True),
        (("ILS 18", "18"), False),
        (("ILS 18", "18"), None),
    ],
    ids=["one-only", "one-strip", "not-separate", "separation-unknown"],
)
def test_low_visibility_credit_needs_two_separate_runways(
    other: tuple[str, str] | None, separate: bool | None
) -> None:
    low = approach(dh_ft=50.0, rvr_m=200.0)
    more = [] if other is None else [replace(low, id=other[0], runway=other[1])]
    found = planning(
        aerodrome(low, *more, separate=separate),
        rulebook="faa-121",
        approvals=("LVO", "LVO_ALTERNATE"),
    )
    assert found.options == ()


@pytest.mark.parametrize(
    ("subject", "ceiling_ft"),
    [(approach(), 600.0), (non_precision(rvr_m=1500.0), 800.0), (circling(), None)],
    ids=["CFR-91-169-precision", "CFR-91-169-non-precision", "CFR-91-169-circling"],
)
def test_the_standard_alternate_minima(subject: object, ceiling_ft: float | None) -> None:
    place = aerodrome(subject)  # type: ignore[arg-type]
    found = planning(place, rulebook="faa-121", scheme=Scheme.STANDARD_ALTERNATE)
    assert found.ceiling_ft == ceiling_ft


@pytest.mark.parametrize("rulebook", ["icao", "easa"])
@pytest.mark.parametrize("approvals", [(), ("LVO",)])
@pytest.mark.parametrize(
    ("changes", "ceiling_ft", "visibility_m"),
    [
        ({}, 400.0, 1350.0),
        ({"lights": None}, 400.0, 1350.0),
        ({"lights": Lights.INTERMEDIATE}, 400.0, 1550.0),
        ({"dh_ft": 300.0}, 500.0, 1450.0),
        ({"visibility_m": 400.0}, 400.0, 1350.0),
    ],
    ids=["at-the-limits", "lights-unknown", "by-lights", "height-of-its-own", "visibility"],
)
def test_europe_plans_low_visibility_approaches_from_category_i(
    rulebook: str,
    approvals: tuple[str, ...],
    changes: dict[str, Any],
    ceiling_ft: float,
    visibility_m: float,
) -> None:
    """Whatever the crew may fly: 200 ft and RVR 550 m, or more by lights, then the additions."""
    place = aerodrome(approach(**{"dh_ft": 100.0, "rvr_m": 300.0, **changes}))
    found = planning(place, rulebook=rulebook, approvals=approvals)
    assert (found.ceiling_ft, found.visibility_m) == (ceiling_ft, visibility_m)


def test_a_low_visibility_approach_without_a_height_is_not_known() -> None:
    place = aerodrome(approach(dh_ft=None, rvr_m=300.0))
    assert planning(place).available is None


def test_the_same_place_is_judged_by_two_rulebooks_with_different_figures() -> None:
    place = aerodrome(approach(visibility_m=800.0))
    european, american = planning(place), planning(place, rulebook="faa-121")
    assert (european.ceiling_ft, american.ceiling_ft) == (400.0, 600.0)


# --- the weather against them ---


@pytest.mark.parametrize(
    ("ceiling_ft", "visibility_m", "met"),
    [
        (400.0, 1350.0, True),
        (500.0, 2000.0, True),
        (399.0, 1350.0, False),
        (400.0, 1349.0, False),
        (None, 1350.0, None),
        (400.0, None, None),
        (None, 1000.0, False),
    ],
)
def test_weather_has_to_meet_both_figures(
    ceiling_ft: float | None, visibility_m: float | None, met: bool | None
) -> None:
    judged = planning_met(
        planning(aerodrome(ILS_A)),
        ceiling=ceiling(ceiling_ft),
        visibility=visibility(visibility_m),
    )
    assert judged.met is met
    assert judged.option is not None


def test_no_ceiling_is_above_every_planning_minimum() -> None:
    judged = planning_met(
        planning(aerodrome(ILS_A)),
        ceiling=ceiling(None, state=CeilingState.NONE),
        visibility=visibility(9999.0),
    )
    assert judged.met is True


def test_any_option_that_is_met_is_enough() -> None:
    low = approach(id="low", runway="18", dh_ft=200.0, rvr_m=2000.0)
    high = approach(id="high", dh_ft=300.0, rvr_m=550.0)
    judged = planning_met(
        planning(aerodrome(low, high)), ceiling=ceiling(500.0), visibility=visibility(1400.0)
    )
    assert judged.met is True
    assert judged.option is not None
    assert judged.option.approaches == ("high",)


@pytest.mark.parametrize(
    ("place", "met"), [(aerodrome(approach(dh_ft=None)), None), (aerodrome(), None)]
)
def test_without_options_nothing_is_met(place: Aerodrome, met: bool | None) -> None:
    judged = planning_met(planning(place), ceiling=ceiling(9999.0), visibility=visibility(9999.0))
    assert (judged.met, judged.option) == (met, None)


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ("09", "09", True),
        ("09", "27", True),
        ("27", "09", True),
        ("09L", "27R", True),
        ("09C", "27C", True),
        ("09L", "27L", False),
        ("09L", "09R", False),
        ("18", "36", True),
        ("09", "18", False),
    ],
)
def test_the_two_ends_of_a_strip_are_one_runway(first: str, second: str, same: bool) -> None:
    assert same_strip(first, second) is same


def test_the_two_ends_of_one_strip_are_not_separate_runways() -> None:
    place = aerodrome(ILS_A, approach(id="ILS 27R", runway="27R"), separate=True)
    assert planning(place, scheme=Scheme.VARIATIONS).ceiling_ft == 350.0
