"""The state of an aircraft that has gone on as a stored decision said, value by value.

Every value stands by its JSON Pointer in the case. Carrying is done against the aircraft: fuel is
burnt to the whole kilogram above, and the miles to a place that is not on the way are those back
and out again; along the approach track they are those that deadlines are worked out with.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, Final

from msgspec.structs import replace

from decision.again.moved import Moved, along, in_hold
from decision.case import Case, Leg
from decision.case.types import TO_ALTERNATE
from decision.decide.decision import Do
from decision.earth import point_between
from decision.flight.approach import before_landing_min, checklist_min, departure_of
from decision.flight.leave_later import miles_onward
from decision.flight.situation import Situation, situation_of
from decision.flight.tracks import from_present_nm, to_run_nm

Data = Mapping[str, Any]
State = dict[str, Any]
"""Values by JSON Pointer, as a body has them; None: not known any more."""

DECIMALS: Final = 3  # a thousandth of the unit, as figures are published
DEGREE_DECIMALS: Final = 6  # a tenth of a metre; the last digits of libraries differ
IN_THE_HOLD: Final = "in the hold at {}"
FROM_FURTHER_ON: Final = "from_last_clean_point"  # in the label of a course
PASSED: Final = "the diversion that was chosen begins further on, and that point may be passed"


def way_flown(answer: Data, situation: Situation, minutes: float) -> tuple[Moved, str]:
    """How far the stored action has been carried out, and in words which way that was."""
    action, case = answer["action"], situation.case
    if action["do"] == Do.HOLD:
        return in_hold(situation, minutes), IN_THE_HOLD.format(case.destination.aerodrome.icao)
    label = action.get("course") or ""
    course: Data = next((each for each in answer["courses"] if each["course"] == label), {})
    moved = along(course.get("steps") or (), minutes, level_ft=case.aircraft.pressure_altitude_ft)
    if FROM_FURTHER_ON in label:
        moved = replace(moved, lost=moved.lost or PASSED)
    return moved, f"{action['do']} {action['aerodrome']}"


def made_good(moved: Moved, situation: Situation, to_run: object) -> Moved | None:
    """The same with the miles that a distance to run says; None where it says of another way.

    An aircraft that is told to be nearer to the threshold has come along its approach track.
    """
    track_nm = to_run_nm(situation.case)
    if track_nm is None or not isinstance(to_run, int | float) or to_run > track_nm:
        return None
    return replace(moved, miles=track_nm - to_run)


def state_after(to: Leg | None, situation: Situation, moved: Moved, minutes: float) -> State:
    """The state after moving to a place, or nowhere: all that moves or grows old.

    None where a value is not known any more.
    """
    case, fuel_kg = situation.case, math.ceil(moved.fuel_kg)
    left_kg = max(case.fuel.unusable_kg, case.fuel.on_board_kg - fuel_kg)
    burnt_kg = case.fuel.on_board_kg - left_kg
    level_ft = moved.level_ft
    return {
        "/aircraft/position": _position(case, to, moved),
        "/aircraft/pressure_altitude_ft": case.aircraft.pressure_altitude_ft
        if level_ft is None
        else figure(level_ft),
        "/aircraft/mass_kg": figure(case.aircraft.mass_kg - burnt_kg),
        "/fuel/on_board_kg": figure(left_kg),
        **dict(_distances(situation, to, moved)),
        **dict(_spent(situation, moved, minutes)),
        **({"/aircraft/gear": "down"} if moved.gear_down else {}),
    }


def goal_of(answer: Data, case: Case) -> Leg | None:
    """The place that the stored action leads to; None: the aircraft stays where it is."""
    action = answer["action"]
    if action["do"] == Do.HOLD:
        return None
    legs = (case.destination, *case.alternates)
    return next(leg for leg in legs if leg.aerodrome.icao == action["aerodrome"])


def _position(case: Case, to: Leg | None, moved: Moved) -> dict[str, float] | None:
    here, miles = case.aircraft.position, moved.miles
    if here is None or (to is not None and to.aerodrome.position is None):
        return None
    point = here
    if to is not None and to.aerodrome.position is not None:
        way_nm = _way_nm(case, to)
        share = 0.0 if not way_nm else min(1.0, miles / way_nm)
        point = point_between(start=here, end=to.aerodrome.position, share=share)
    return {
        "latitude_deg": round(point.latitude_deg, DEGREE_DECIMALS),
        "longitude_deg": round(point.longitude_deg, DEGREE_DECIMALS),
    }


def _way_nm(case: Case, leg: Leg) -> float | None:
    return to_run_nm(case) if leg is case.destination else from_present_nm(case, leg)


def _distances(
    situation: Situation, to: Leg | None, moved: Moved
) -> Iterator[tuple[str, float | None]]:
    """Miles to every place: less to the one ahead, more to those that are turned away from."""
    case = situation.case
    ahead_nm = {} if to is not case.destination else _onward(situation, moved)
    for leg, pointer in _pointers(case):
        known_nm = _way_nm(case, leg)
        if known_nm is None or to is None:
            yield pointer, known_nm
        elif leg is to:
            yield pointer, figure(max(0.0, known_nm - moved.miles))
        else:
            yield pointer, figure(ahead_nm.get(leg.aerodrome.icao, known_nm + moved.miles))


def _pointers(case: Case) -> Iterator[tuple[Leg, str]]:
    yield case.destination, "/destination/track_nm"
    for index, leg in enumerate(case.alternates):
        yield leg, TO_ALTERNATE.format(index)


def _onward(situation: Situation, moved: Moved) -> dict[str, float]:
    """Miles to the alternates from a point on the approach track, as deadlines take them."""
    flight, track_nm = departure_of(situation).approach, to_run_nm(situation.case)
    if flight is None or track_nm is None or track_nm <= flight.extension_nm:
        return {}
    to_go_nm = max(flight.extension_nm, track_nm - moved.miles)
    onward = miles_onward(situation, flight, to_go_nm, track_nm=track_nm)
    return {leg.aerodrome.icao: miles for leg, miles in onward if miles is not None}


def _spent(situation: Situation, moved: Moved, minutes: float) -> Iterator[tuple[str, float]]:
    """What time uses up: holds, checklists, oxygen; and the flow that goes with the lesser mass."""
    case, left_min = situation.case, moved.held_min
    delay_min = case.air_traffic.delay_min or 0.0
    planned_min = case.plan.hold_min - delay_min  # the case has both in one
    if planned_min > 0.0 and left_min > 0.0:
        yield "/plan/hold_min", figure(max(0.0, planned_min - left_min))
        left_min = max(0.0, left_min - planned_min)
    if delay_min > 0.0 and left_min > 0.0:
        yield "/air_traffic/delay_min", figure(max(0.0, delay_min - left_min))
    lists_min = before_landing_min(situation) or checklist_min(situation)
    if lists_min > 0.0:
        yield "/plan/checklist_min", figure(max(0.0, lists_min - minutes))
    if case.aircraft.oxygen_min is not None:
        yield "/aircraft/oxygen_min", figure(max(0.0, case.aircraft.oxygen_min - minutes))
    if situation.flow_ratio is not None and case.fuel.observed_flow_kg_per_h is not None:
        yield "/fuel/observed_flow_kg_per_h", figure(_flow_kg_per_h(situation, moved))


def _flow_kg_per_h(situation: Situation, moved: Moved) -> float:
    """The flow that stands to the model's now as the observed one did to the model's then."""
    case = situation.case
    seen, ratio = case.fuel.observed_flow_kg_per_h or 0.0, situation.flow_ratio or 0.0
    now = replace(
        case,
        aircraft=replace(
            case.aircraft,
            mass_kg=max(case.aircraft.profile.masses.oew_kg, case.aircraft.mass_kg - moved.fuel_kg),
            pressure_altitude_ft=case.aircraft.pressure_altitude_ft
            if moved.level_ft is None
            else moved.level_ft,
        ),
    )
    later = situation_of(now).flow_ratio
    return seen if later is None else seen * ratio / later


def figure(value: float) -> float:
    """A figure to a thousandth, without a point where it is whole."""
    rounded = round(value, DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded
