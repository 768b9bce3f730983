"""What an attempt knows of its runway, air, wind and surface, and what it says it does not know."""

from __future__ import annotations

import math
from typing import Any

import pytest

from decision.attempt.arrival import Arrival
from decision.attempt.attempt import Attempt, Role
from decision.attempt.draw import draw
from decision.attempt.runway_wind import gusts_count, runway_wind
from decision.earth import initial_true_deg
from decision.flight.situation import Situation, situation_of
from decision.flight.tracks import air_along, isa_deviation_degc
from decision.flight.tried import Tried, WhatIf
from decision.performance import CALM_STANDARD
from decision.profile import load_profile
from decision.rulebooks.rulebook import load_rulebook
from decision.windows import around
from tests.case.builders import REMOVED
from tests.changing import replace
from tests.decide.builders import attempts, best_attempt, case_of, situation
from tests.rules.builders import T0, seen, wind

FAIR = "26011KT 9999 SCT030 08/04 Q1013"
RUNWAYS = [
    {"ident": "27", "true_bearing_deg": 270, "lda_m": 1800},
    {"ident": "09", "true_bearing_deg": 90, "lda_m": 1900, "closed": True},
    {"ident": "18", "true_bearing_deg": 180, "lda_m": 1850},
]


def at_destination(seen_by: Situation, **wanted: str) -> tuple[Attempt, ...]:
    arrival = Arrival(
        leg=seen_by.case.destination,
        role=Role.MISSED,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        mass_kg=58_000.0,
        **wanted,
    )
    return draw(seen_by, arrival)


def first(**changes: Any) -> Attempt:
    return at_destination(situation(**changes), approach_id="ILS 27R")[0]


def described(runways: list[dict[str, Any]]) -> Situation:
    place = {"icao": "XNEW", "elevation_ft": 100, "track_nm": 42, "approaches": []}
    report = f"METAR XNEW 140600Z {FAIR}"
    changes = {"/destination": {**place, "runways": runways}, "/plan/approach": REMOVED}
    return situation(**changes, **{"/weather/reports/0": report})


def test_there_is_one_attempt_for_each_procedure_or_for_the_one_that_is_wanted() -> None:
    here = situation()
    assert len(at_destination(here)) == 5
    assert len(at_destination(here, runway_ident="09L")) == 2
    assert [
        each.approach.id for each in at_destination(here, approach_id="RNP 09L") if each.approach
    ] == ["RNP 09L"]


def test_without_a_procedure_the_longest_open_runway_is_taken() -> None:
    (drawn,) = at_destination(described(RUNWAYS))
    assert drawn.approach is None
    assert drawn.runway is not None
    assert drawn.runway.ident == "18"


def test_with_every_runway_closed_nothing_of_a_runway_is_known() -> None:
    (drawn,) = at_destination(described([{**each, "closed": True} for each in RUNWAYS]))
    assert drawn.runway is None
    assert drawn.wind is None
    assert drawn.runway_condition is None
    assert drawn.landing is None
    assert "wind" in drawn.unknown


@pytest.mark.parametrize(
    ("report", "winds", "unknown"),
    [
        (f"METAR XKAL 140600Z {FAIR}", True, ()),
        ("METAR XKAL 140600Z 26011KT 9999 SCT030 08/04", True, ("QNH",)),
        ("METAR XKAL 140600Z 26011KT 9999 SCT030 Q1013", True, ()),  # from the winds aloft
        ("METAR XKAL 140600Z 26011KT 9999 SCT030 Q1013", False, ("surface temperature",)),
        ("METAR XKAL 140600Z /////KT 9999 SCT030 08/04 Q1013", True, ("wind",)),
    ],
)
def test_what_is_not_reported_is_unknown_and_leaves_no_figure(
    report: str, winds: bool, unknown: tuple[str, ...]
) -> None:
    changes: dict[str, Any] = {"/weather/reports/0": report, "/weather/reports/1": "-"}
    if not winds:
        changes["/winds_aloft"] = REMOVED
    drawn = first(**changes)
    assert drawn.unknown == unknown
    assert (drawn.landing is None) == bool(unknown)
    assert (drawn.climb is None) == bool(unknown)


def test_the_category_is_of_the_speed_that_will_be_flown() -> None:
    clean = {"flaps-jammed": {"detent": "0"}, "slats-jammed": {"position": "in"}}
    stuck = situation(**{"/failures": [{"id": id_, **more} for id_, more in clean.items()]})
    assert {each.category for each in at_destination(situation())} == {"C"}
    assert {each.category for each in at_destination(stuck)} == {"E"}


def test_what_is_lost_on_board_counts_in_the_minima() -> None:
    sound, deaf = first().minima, first(**{"/failures": [{"id": "ils"}]}).minima
    assert sound is not None
    assert deaf is not None
    assert (sound.usable, deaf.usable) == (True, False)
    assert (sound.height_ft, deaf.height_ft) == (200.0, 200.0)


def test_without_a_procedure_there_are_no_minima() -> None:
    (drawn,) = at_destination(described(RUNWAYS))
    assert drawn.minima is None
    assert drawn.minimum_height_ft is None


@pytest.mark.parametrize(
    ("figures", "rulebook", "approvals", "usable"),
    [
        pytest.param({"dh_ft": 100, "rvr_m": 300}, "easa", [], False, id="not approved"),
        pytest.param({"dh_ft": 100, "rvr_m": 300}, "easa", ["LVO"], True, id="approved"),
        pytest.param({"dh_ft": 200}, "easa", [], True, id="RVR by height and lights"),
        pytest.param({"dh_ft": 200}, "faa-121", [], None, id="no table of RVR by lights"),
    ],
)
def test_minima_are_those_of_this_crew_under_this_rulebook(
    figures: dict[str, int], rulebook: str, approvals: list[str], usable: bool | None
) -> None:
    procedure = {"id": "ILS 18", "runway": "18", "kind": "3D-B", "needs": ["ILS"], "lights": "FALS"}
    place = {"icao": "XNEW", "elevation_ft": 100, "track_nm": 42, "runways": RUNWAYS}
    case: dict[str, Any] = {
        "/destination": {**place, "approaches": [{**procedure, **figures}]},
        "/plan/approach": REMOVED,
        "/rulebook": rulebook,
        "/approvals": approvals,
    }
    (drawn,) = at_destination(situation(**case))
    assert drawn.minima is not None
    assert drawn.minima.usable is usable


def test_braking_that_a_pilot_reports_counts_at_its_aerodrome_only() -> None:
    here = {"icao": "XKAL", "at": "2026-03-14T06:05:00Z", "braking": "poor"}
    there = {**here, "icao": "XTOR"}
    slippery, dry = first(**{"/observations": [here]}), first(**{"/observations": [there]})
    assert slippery.runway_condition is not None
    assert dry.runway_condition is not None
    assert slippery.runway_condition.code is not None
    assert dry.runway_condition.code == 6
    assert slippery.runway_condition.code < 3


def test_braking_stamped_later_than_now_and_braking_of_another_runway_are_not_heard() -> None:
    told = {"icao": "XKAL", "at": "2026-03-14T06:05:00Z", "braking": "poor"}
    later = {**told, "at": "2026-03-14T06:30:00Z"}
    elsewhere = {**told, "braking_runway": "09R"}
    of_this = {**told, "braking_runway": "27R"}
    codes = [
        each.runway_condition and each.runway_condition.code
        for each in (first(**{"/observations": [one]}) for one in (later, elsewhere, of_this))
    ]
    assert codes == [6, 6, 1]


def test_on_a_runway_of_unknown_condition_the_landing_is_known_at_its_best() -> None:
    snow = "METAR XKAL 140600Z 26011KT 3000 SN SCT030 M02/M04 Q1013"
    covered, wet = first(**{"/weather/reports/0": snow}), {"braking": "good_to_medium"}
    told = {"icao": "XKAL", "at": "2026-03-14T06:05:00Z", **wet}
    known = first(**{"/weather/reports/0": snow, "/observations": [told]})
    assert covered.runway_condition is not None
    assert (covered.runway_condition.code, covered.runway_condition.at_best) == (None, 5)
    assert covered.landing is None
    assert covered.landing_at_best is not None
    assert known.landing is not None
    assert known.landing_at_best is None
    assert (covered.landing_at_best.distance_m or 0.0) < (known.landing.distance_m or 0.0)


def test_a_condition_that_is_tried_out_is_the_destination_s_alone() -> None:
    tried = situation_of(case_of(), what_if=WhatIf(destination=Tried(condition_code=2)))
    here = at_destination(tried, approach_id="ILS 27R")[0]
    there = attempts(
        tried,
        leg=tried.case.alternates[0],
        role=Role.ALTERNATE,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        mass_kg=58_000.0,
    )[0]
    assert here.runway_condition is not None
    assert there.runway_condition is not None
    assert (here.runway_condition.code, there.runway_condition.code) == (2, 6)


def test_the_winds_on_all_runways_are_known_at_an_alternate() -> None:
    drawn = attempts(
        situation(),
        leg=situation().case.alternates[0],
        role=Role.ALTERNATE,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        mass_kg=58_000.0,
    )[0]
    assert drawn.winds.keys() == {each.ident for each in drawn.leg.aerodrome.runways}
    assert len({each.headwind_kt for each in drawn.winds.values() if each}) > 1
    assert drawn.runway is not None
    assert drawn.wind == drawn.winds[drawn.runway.ident]
    assert first().winds == {}, "nobody plans to land at the destination by its other runways"


def test_an_alternate_is_not_asked_to_climb_away() -> None:
    drawn = attempts(
        situation(),
        leg=situation().case.alternates[0],
        role=Role.ALTERNATE,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        mass_kg=58_000.0,
    )[0]
    assert drawn.landing is not None
    assert drawn.climb is None
    assert drawn.engine_out_climb is None


def test_one_engine_out_leaves_no_further_engine_to_lose() -> None:
    whole, single = first(), first(**{"/failures": [{"id": "engine-1"}]})
    assert whole.climb is not None
    assert whole.engine_out_climb is not None
    assert single.climb is not None
    assert single.engine_out_climb is None
    assert single.climb.gradient_percent < whole.climb.gradient_percent


def test_the_best_attempt_breaks_least_then_stops_shortest() -> None:
    """With the wind from the west the runways to the west are taken, the longer one first."""
    here = situation(**{"/weather/reports/0": "METAR XKAL 140600Z 26025KT 9999 SCT030 08/04 Q1013"})
    drawn = at_destination(here)
    best = best_attempt(here, drawn)
    assert best.approach is not None
    assert best.approach.id == "ILS 27R"
    assert best_attempt(here, drawn[::-1]) == best
    assert best_attempt(here, drawn[:1]) is drawn[0]


def test_a_runway_of_unknown_length_to_stop_is_taken_last() -> None:
    here = situation()
    ils = at_destination(here, approach_id="ILS 27R")[0]
    blind = replace(at_destination(here, approach_id="ILS 27L")[0], landing=None)
    assert best_attempt(here, (blind, ils)) is ils


# --- air ---


def test_without_winds_the_air_is_calm_and_standard() -> None:
    calm = case_of(**{"/winds_aloft": REMOVED})
    assert air_along(calm, start=None, end=None) is CALM_STANDARD
    assert isa_deviation_degc(calm, 5000.0) is None
    tried = air_along(calm, start=None, end=None, more_headwind_kt=20.0)
    assert tried.levels[0].headwind_kt == 20.0


def test_a_leg_without_bearing_meets_the_whole_wind() -> None:
    case = case_of()
    position = case.aircraft.position
    for start, end in ((None, position), (position, None), (position, position)):
        air = air_along(case, start=start, end=end)
        assert [level.headwind_kt for level in air.levels] == [12, 18, 24, 34, 42, 55]
        assert {level.crosswind_kt for level in air.levels} == {0.0}


def test_a_wind_on_a_known_track_is_resolved() -> None:
    """From west to east with a wind from the west: a tailwind, and less the less it follows."""
    case = case_of()
    destination = case.destination.aerodrome.position
    assert case.aircraft.position is not None
    assert destination is not None
    assert case.winds_aloft is not None
    track_true_deg = initial_true_deg(start=case.aircraft.position, end=destination)
    air = air_along(case, start=case.aircraft.position, end=destination, more_headwind_kt=5.0)
    assert len(air.levels) == 6
    for level, told in zip(air.levels, case.winds_aloft, strict=True):
        angle = math.radians(told.from_true_deg - track_true_deg)
        along_kt = told.speed_kt * math.cos(angle)
        assert level.headwind_kt == pytest.approx(along_kt + 5.0, abs=0.1)
        assert level.crosswind_kt == pytest.approx(told.speed_kt * abs(math.sin(angle)), abs=0.1)
    assert max(level.headwind_kt for level in air.levels) < 0.0


@pytest.mark.parametrize(
    ("level_ft", "temperatures", "deviation"),
    [
        (2000.0, {2000: 11.0, 10_000: -4.8}, 0.0),  # the standard: 11.04 and -4.81
        (2000.0, {2000: 21.0, 10_000: -4.8}, 10.0),
        (6000.0, {2000: 21.0, 10_000: -4.8}, 5.0),
        (0.0, {2000: 21.0, 10_000: -4.8}, 10.0),
        (20_000.0, {2000: 21.0, 10_000: -4.8}, 0.0),
    ],
)
def test_the_deviation_is_linear_between_levels_and_the_nearest_beyond(
    level_ft: float, temperatures: dict[int, float], deviation: float
) -> None:
    winds = [
        {
            "pressure_altitude_ft": level,
            "from_true_deg": 270,
            "speed_kt": 10,
            "temperature_degc": degc,
        }
        for level, degc in temperatures.items()
    ]
    untold = {"pressure_altitude_ft": 6000, "from_true_deg": 270, "speed_kt": 10}
    case = case_of(**{"/winds_aloft": [*winds, untold]})
    assert isa_deviation_degc(case, level_ft) == pytest.approx(deviation, abs=0.1)


# --- winds on a runway ---


def test_each_component_is_the_worst_of_the_window() -> None:
    winds = (wind(270.0, 20.0), wind(360.0, 12.0), wind(90.0, 6.0))
    worst = runway_wind(seen(wind=winds[0], winds=winds), true_bearing_deg=270.0, with_gusts=False)
    assert worst is not None
    assert worst.headwind_kt == pytest.approx(-6.0)
    assert worst.tailwind_kt == pytest.approx(6.0)
    assert worst.crosswind_kt == pytest.approx(12.0)
    assert not worst.possibly_worse


@pytest.mark.parametrize(("with_gusts", "crosswind"), [(False, 10.0), (True, 25.0)])
@pytest.mark.parametrize("by_reading", [False, True])
def test_a_gust_is_in_the_components_only_where_it_is_asked_for(
    by_reading: bool, with_gusts: bool, crosswind: float
) -> None:
    gusty = wind(360.0, 10.0, gust_kt=25.0, gust_counts=by_reading)
    worst = runway_wind(
        seen(wind=gusty, winds=(gusty,)), true_bearing_deg=270.0, with_gusts=with_gusts
    )
    assert worst is not None
    assert worst.crosswind_kt == pytest.approx(crosswind)


@pytest.mark.parametrize(
    ("included", "rulebook", "counts"),
    [
        (True, "easa", True),
        (True, "icao", True),
        (False, "easa", False),
        (False, "icao", False),
        (False, "faa-121", True),
    ],
)
def test_a_gust_counts_where_the_aircraft_or_the_rulebook_says_so(
    included: bool, rulebook: str, counts: bool
) -> None:
    limits = replace(load_profile("xtj150").wind, gust_included=included)
    assert gusts_count(limits, load_rulebook(rulebook)) is counts


def test_a_wind_without_direction_blows_across_and_from_behind() -> None:
    variable = wind(None, 8.0)
    worst = runway_wind(
        seen(wind=variable, winds=(variable,)), true_bearing_deg=270.0, with_gusts=False
    )
    assert worst is not None
    assert (worst.headwind_kt, worst.crosswind_kt, worst.tailwind_kt) == (-8.0, 8.0, 8.0)


def test_calm_is_calm_and_an_unread_wind_leaves_a_doubt() -> None:
    calm, unread = wind(None, 0.0), wind(None, None)
    worst = runway_wind(
        seen(wind=calm, winds=(calm, unread)), true_bearing_deg=270.0, with_gusts=False
    )
    assert worst is not None
    assert worst.crosswind_kt == pytest.approx(0.0)
    assert worst.possibly_worse
    none = runway_wind(seen(wind=unread, winds=(unread,)), true_bearing_deg=0.0, with_gusts=False)
    assert none is None


# --- the situation ---


def test_a_flow_above_the_model_scales_it_and_one_below_does_not() -> None:
    model = situation(**{"/fuel/observed_flow_kg_per_h": 2000})
    assert model.flow_ratio is not None
    above = situation(**{"/fuel/observed_flow_kg_per_h": 2000 / model.flow_ratio * 1.2})
    within = situation(**{"/fuel/observed_flow_kg_per_h": 2000 / model.flow_ratio * 1.04})
    assert above.configurations.clean.fuel_flow_scale == pytest.approx(1.2)
    assert within.configurations.clean.fuel_flow_scale == 1.0
    assert model.configurations.clean.fuel_flow_scale == 1.0
    assert situation().flow_ratio is None


def test_a_report_that_cannot_be_read_at_all_is_set_aside_with_the_reason() -> None:
    told = situation(**{"/weather/reports": ["garbage", f"METAR XKAL 140600Z {FAIR}"]})
    assert [each.raw for each in told.set_aside] == ["garbage"]
    assert told.set_aside[0].reason
    assert len(told.reports) == 1
    assert told.station("XBRE").observation is None
