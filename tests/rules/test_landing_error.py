"""A landing that fits by less than the model can tell, and ice as each authority has it."""

from __future__ import annotations

import pytest

from decision.attempt.arrival import Arrival
from decision.attempt.attempt import Attempt, Role
from decision.attempt.draw import draw
from decision.flight.ledger import arrival_flow_kg_per_h, reserve_kg
from decision.flight.situation import Situation
from decision.performance import clean, landing
from decision.profile import load_profile
from decision.quantities import AntiSkid
from decision.rules.finding import Outcome
from decision.rules.landing import landing_within_error
from decision.systems import Limit, LimitName
from decision.windows import around
from tests.attempt.minima_builders import rulebook_with
from tests.changing import replace
from tests.decide.builders import attempts, situation
from tests.rules.builders import STOP, T0, attempt, context, finding, surface

XTJ150 = load_profile("xtj150")


def stops_in(distance_m: float | None, *, code: int = 6, table_m: float | None = None) -> Attempt:
    """On 2000 m, with the factor of 1.15."""
    landed = replace(STOP, distance_m=distance_m, table_m=table_m)
    return attempt(landing=landed, runway_condition=surface(code))


@pytest.mark.parametrize(
    ("at", "inside"),
    [
        (stops_in(1580.0), False),
        (stops_in(1582.0), True),
        (stops_in(1739.0), True),
        (stops_in(1740.0), False),
        (stops_in(1448.0, code=5), False),
        (stops_in(1450.0, code=5), True),
        (stops_in(1450.0, code=2), True),
        (stops_in(1450.0, code=6), False),
        (stops_in(None), False),
        (stops_in(1700.0, table_m=1700.0), False),
        (stops_in(1700.0, table_m=1600.0), True),
        (attempt(landing=None), False),
        (attempt(runway=None), False),
        (replace(stops_in(1450.0), runway_condition=None), True),
    ],
)
def test_a_landing_is_inside_the_error_when_it_fits_only_at_the_central_distance(
    at: Attempt, inside: bool
) -> None:
    """The profile states 10 % on a dry runway and 20 % on a contaminated one."""
    assert landing_within_error(at, context()) is inside


def on_ice(ice_coefficient: float | None, *, code: int = 1) -> float:
    landed = landing(
        XTJ150,
        mass_kg=60_000.0,
        flap="34",
        slats_out=True,
        pressure_altitude_ft=0.0,
        isa_deviation_degc=-15.0,
        condition_code=code,
        headwind_kt=0.0,
        slope_percent=0.0,
        spoilers=1.0,
        reversers=0,
        brakes_fraction=1.0,
        anti_skid=AntiSkid.FULL,
        ice_coefficient=ice_coefficient,
    )
    assert landed.distance_m is not None
    return landed.distance_m


def test_less_friction_on_ice_stops_later_and_on_nothing_else() -> None:
    assert on_ice(None) == on_ice(0.08) < on_ice(0.07)
    assert on_ice(0.07, code=3) == on_ice(None, code=3)


def under(rulebook: str, **figures: float) -> Situation:
    """The demo situation by a rulebook with other figures."""
    there = situation()
    book = rulebook_with(rulebook, **figures)
    return replace(there, rulebook=book)


def icy_landing_m(there: Situation) -> float:
    """Landing distance at the destination, all of it reported as ice."""
    leg = there.case.destination
    runways = tuple(replace(each, condition_code=1) for each in leg.aerodrome.runways)
    icy = replace(leg, aerodrome=replace(leg.aerodrome, runways=runways))
    arrival = Arrival(
        leg=icy,
        role=Role.COMMITTED,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        mass_kg=60_000.0,
    )
    drawn = draw(there, arrival)
    found = {each.landing.distance_m for each in drawn if each.landing is not None}
    assert len(found) >= 1
    return max(each for each in found if each is not None)


def test_the_landing_on_ice_is_that_of_the_rulebook() -> None:
    european, american = icy_landing_m(under("easa")), icy_landing_m(under("faa-121"))
    assert european > american
    assert icy_landing_m(under("faa-121", ice_braking_coefficient=0.07)) == european


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_the_final_reserve_is_of_the_minutes_and_the_height_of_the_rulebook(rulebook: str) -> None:
    there = under(rulebook)
    leg, configuration = there.case.destination, clean(there.case.aircraft.profile)
    usual_kg = reserve_kg(there, configuration, 58_000.0, leg)
    longer_kg = reserve_kg(under(rulebook, final_reserve_min=45.0), configuration, 58_000.0, leg)
    assert longer_kg == pytest.approx(1.5 * usual_kg)
    high = under(rulebook, final_reserve_height_ft=9_500.0)
    raised = replace(
        leg, aerodrome=replace(leg.aerodrome, elevation_ft=leg.aerodrome.elevation_ft + 8_000.0)
    )
    assert reserve_kg(high, configuration, 58_000.0, leg) == reserve_kg(
        there, configuration, 58_000.0, raised
    )
    assert reserve_kg(high, configuration, 58_000.0, leg) != usual_kg


def test_the_flow_at_arrival_does_not_hang_on_the_minutes_of_the_reserve() -> None:
    there, longer = under("easa"), under("easa", final_reserve_min=45.0)
    leg, configuration = there.case.destination, clean(there.case.aircraft.profile)
    usual = arrival_flow_kg_per_h(there, configuration, 58_000.0, leg)
    assert arrival_flow_kg_per_h(longer, configuration, 58_000.0, leg) == pytest.approx(usual)


@pytest.mark.parametrize(("bar", "planned"), [("in_flight", False), ("planning", True)])
def test_a_dry_landing_without_reversers_is_drawn_only_for_planning(
    bar: str, planned: bool
) -> None:
    there = situation(**{"/policy/alternate_bar": bar})
    drawn = attempts(
        there,
        leg=there.case.destination,
        role=Role.MISSED,
        at=T0,
        window=around(T0, before_min=0, after_min=15),
        mass_kg=60_000.0,
    )
    dry = [each.landing_dry for each in drawn]
    assert dry
    assert all((each is not None) is planned for each in dry)
    for each in drawn:
        if each.landing is not None and each.landing_dry is not None:
            assert each.landing_dry.roll_m is not None
            assert each.landing_dry.distance_m is not None


def test_a_distance_that_no_table_gives_is_not_known() -> None:
    untabled = attempt(landing=replace(STOP, distance_m=None, unknown="no row for flap 20"))
    found = finding("LD-01", untabled, context())
    assert found.outcome is Outcome.UNKNOWN
    assert "no row for flap 20" in found.text


def test_brakes_that_are_weaker_take_less_energy() -> None:
    weak = Limit(name=LimitName.MAX_BRAKE_ENERGY_RATIO, value=0.2, unit="", because="fuse plugs")
    sound = attempt()
    worn = replace(sound, capability=replace(sound.capability, limits=(weak,)))
    outcomes = [finding("LD-04", at, context()).outcome for at in (sound, worn)]
    assert outcomes == [Outcome.PASS, Outcome.FAIL]
