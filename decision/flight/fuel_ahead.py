"""The fuel over the miles to the threshold: what is on board, and what each diversion needs.

Points from the present position to the minimum: the way to the last clean point, both sides of the
step that cannot be undone, the final stretch. Every need counts from its own point: what is flown
before the diversion, the diversion, approach and landing there, final reserve.

Before the step, and wherever there is none, that is the clean diversion of an aircraft which flies
on as planned. An approach that is broken off after it takes in the climb and the miles of the
missed approach evenly with the miles flown [ASSUMED]: none of them at the step, so that both sides
differ by the step alone; all of them at the minimum, as courses count.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.case import Approach
from decision.flight.approach import ApproachFlight, Departure
from decision.flight.irreversible import SAME_NM, gear_is_down_for_good, step_ahead
from decision.flight.leave_later import SAME_MIN, Mark, flown_on, marks_of, miles_onward
from decision.flight.ledger import fuel_unknowns
from decision.flight.miss import go_around, missed_track_nm
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, between
from decision.flight.tracks import from_present_nm, onward_by, to_run_nm
from decision.flight.ways import Ending, Landed, LegAndMiles, Origin, Way, divert, leave
from decision.performance import CannotFly, Configuration, NotKnown

SPACINGS_NM: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
MOST_CLEAN: Final = 8  # spaces of the grid at most, to the last clean point [ASSUMED]
MOST_FINAL: Final = 4  # and from there to the minimum [ASSUMED]
RARELY_MORE: Final = 95.0  # percent


class Need(Struct, frozen=True, kw_only=True, gc=False):
    """Fuel needed at a point for one aerodrome, final reserve included; or why there is no figure.

    `need_p95_kg` is that of the ordinary level and speed, where these are dearer.
    """

    icao: str
    need_kg: float | None = None
    need_p5_kg: float | None = None
    need_p95_kg: float | None = None
    final_reserve_kg: float | None = None
    reason: str | None = None


class PointAhead(Struct, frozen=True, kw_only=True, gc=False):
    """One point of the way to the threshold, as planned, and each diversion from there.

    `distance_to_go_nm` is None where nobody knows how far it is, `at` where the aircraft does not
    get there, `planned_kg` besides where nobody knows what is left; `reason` says why.
    `configuration`: of a diversion from there. `after_step`: beyond the step that cannot be undone,
    or everywhere if it is done already.
    """

    distance_to_go_nm: float | None
    at: datetime | None
    planned_kg: float | None
    configuration: Configuration
    after_step: bool
    needs: tuple[Need, ...]
    reason: str | None


def fuel_ahead(
    situation: Situation, departure: Departure, missed: Approach | None
) -> tuple[PointAhead, ...]:
    """The points in the order in which they are flown, those of one distance one after the other.

    `missed`: the procedure that is missed at the minimum. Where the distance to run is not known
    there is the present point alone; where the aircraft is stopped on the way, the last point has
    no figures but the reason.
    """
    flight, track_nm = departure.approach, to_run_nm(situation.case)
    if flight is None or track_nm is None:
        return (_here(situation, departure.present, None),)
    ahead = _Ahead(
        situation=situation,
        present=departure.present,
        flight=flight,
        track_nm=track_nm,
        missed=missed,
    )
    if flight.last_clean.stopped is not None:
        return (_here(situation, departure.present, track_nm), _minimum(ahead))
    return (*_clean(ahead), *_changed(ahead), *_final(ahead), _minimum(ahead))


class _Ahead(Struct, frozen=True, kw_only=True, gc=False):
    """The approach as planned, from `track_nm` before the threshold."""

    situation: Situation
    present: Flight
    flight: ApproachFlight
    track_nm: float
    missed: Approach | None

    @property
    def step_here(self) -> bool:
        """Whether gear and flaps are due at once, so that the last clean point is the present."""
        return self.flight.extension_nm == self.track_nm

    @property
    def origin_at_step(self) -> Origin:
        """Where a diversion from the last clean point starts."""
        return Origin.PRESENT if self.step_here else Origin.LAST_CLEAN_POINT

    @property
    def miles_at_step(self) -> Sequence[LegAndMiles]:
        """Miles of it."""
        case = self.situation.case
        if self.step_here:
            return [(leg, from_present_nm(case, leg)) for leg in case.alternates]
        return onward_by(case, self.flight.extension_nm)


# --- up to the last clean point ----------------------------------------------------------------


def _here(situation: Situation, present: Flight, track_nm: float | None) -> PointAhead:
    case = situation.case
    onward = [(leg, from_present_nm(case, leg)) for leg in case.alternates]
    endings = leave(situation, present, onward, origin=Origin.PRESENT)
    return _before_step(situation, present, track_nm, endings)


def _clean(ahead: _Ahead) -> Iterator[PointAhead]:
    """Every point from the present to the last clean one."""
    situation, flight = ahead.situation, ahead.flight
    marks = marks_of(ahead.present, flight, track_nm=ahead.track_nm)
    for minutes in _moments_min(marks):
        if minutes < SAME_MIN:
            yield _here(situation, ahead.present, ahead.track_nm)
            continue
        on, to_go_nm = flown_on(ahead.present, flight, minutes, track_nm=ahead.track_nm)
        onward = miles_onward(situation, flight, to_go_nm, track_nm=ahead.track_nm)
        origin = ahead.origin_at_step if on is flight.last_clean else Origin.PRESENT
        yield _before_step(situation, on, to_go_nm, leave(situation, on, onward, origin=origin))


def _moments_min(marks: Sequence[Mark]) -> list[float]:
    """Minutes from the start: to both ends, to both ends of each stand still, to the grid."""
    ends = {marks[0].minutes, marks[-1].minutes}
    for before, after in pairwise(marks):
        if after.to_go_nm == before.to_go_nm:
            ends |= {before.minutes, after.minutes}
    grid = _grid_nm(marks[0].to_go_nm, marks[-1].to_go_nm, most=MOST_CLEAN)
    return sorted(ends | {_minutes_at(to_go_nm, marks) for to_go_nm in grid})


def _minutes_at(to_go_nm: float, marks: Sequence[Mark]) -> float:
    """When a distance on the way is reached: miles change evenly with time inside a step."""
    before, after = next(each for each in pairwise(marks) if each[1].to_go_nm <= to_go_nm)
    share = (before.to_go_nm - to_go_nm) / (before.to_go_nm - after.to_go_nm)
    return before.minutes + (after.minutes - before.minutes) * share


def _grid_nm(far_nm: float, near_nm: float, *, most: int) -> list[float]:
    """Whole multiples of a round spacing between two distances, the furthest first."""
    way_nm = far_nm - near_nm
    spacing_nm = next((each for each in SPACINGS_NM if way_nm <= most * each), SPACINGS_NM[-1])
    multiples = (spacing_nm * count for count in range(int(far_nm / spacing_nm), 0, -1))
    return [each for each in multiples if near_nm + SAME_NM < each < far_nm - SAME_NM]


# --- from the step to the minimum --------------------------------------------------------------


def _changed(ahead: _Ahead) -> Iterator[PointAhead]:
    """The last clean point once the step is taken: the same way from there, flown otherwise."""
    situation, flight = ahead.situation, ahead.flight
    if not step_ahead(situation):
        return
    way = Way(
        origin=ahead.origin_at_step,
        flight=flight.last_clean,
        configuration=situation.configurations.after_miss,
        hold_min=0.0,
    )
    endings = divert(situation, way, ahead.miles_at_step)
    yield _after_step(situation, flight.last_clean, flight.extension_nm, endings)


def _final(ahead: _Ahead) -> Iterator[PointAhead]:
    """The approach broken off at each point of the grid on its final stretch."""
    situation, flight = ahead.situation, ahead.flight
    if flight.minimum.stopped is not None:
        return
    at_minimum = onward_by(situation.case, missed_track_nm(ahead.missed))
    for to_go_nm in _grid_nm(flight.extension_nm, 0.0, most=MOST_FINAL):
        share = 1.0 - to_go_nm / flight.extension_nm
        state = between(flight.last_clean.state, flight.minimum.state, share)
        onward = [
            (leg, None if far is None or near is None else far + (near - far) * share)
            for (leg, far), (_, near) in zip(ahead.miles_at_step, at_minimum, strict=True)
        ]
        on = replace(flight.last_clean, state=state)
        endings = _broken_off(situation, on, onward, ahead.missed, share=share)
        yield _after_step(situation, on, to_go_nm, endings)


def _minimum(ahead: _Ahead) -> PointAhead:
    """The missed approach at the minimum, as the courses after a miss have it."""
    situation, minimum, missed = ahead.situation, ahead.flight.minimum, ahead.missed
    onward = onward_by(situation.case, missed_track_nm(missed))
    endings = _broken_off(situation, minimum, onward, missed, share=1.0)
    return _after_step(situation, minimum, 0.0, endings)


def _broken_off(
    situation: Situation,
    on: Flight,
    onward: Sequence[LegAndMiles],
    missed: Approach | None,
    *,
    share: float,
) -> tuple[Ending, ...]:
    """From there up by a share of the missed approach, and on to each alternate."""
    away = go_around(situation, on, situation.case.destination, missed, share=share)
    way = Way(
        origin=Origin.MISSED_APPROACH,
        flight=away,
        configuration=situation.configurations.after_miss,
        hold_min=0.0,
        at_missed_approach_kg=on.state.usable_kg,
        missed_at=on.state.at,
    )
    return divert(situation, way, onward)


# --- one point ---------------------------------------------------------------------------------


def _before_step(
    situation: Situation, on: Flight, to_go_nm: float | None, endings: Sequence[Ending]
) -> PointAhead:
    clean, done = situation.configurations.clean, gear_is_down_for_good(situation)
    return _point(situation, on, to_go_nm, endings, configuration=clean, after_step=done)


def _after_step(
    situation: Situation, on: Flight, to_go_nm: float, endings: Sequence[Ending]
) -> PointAhead:
    stuck = situation.configurations.after_miss
    done = step_ahead(situation) or gear_is_down_for_good(situation)
    return _point(situation, on, to_go_nm, endings, configuration=stuck, after_step=done)


def _point(
    situation: Situation,
    on: Flight,
    to_go_nm: float | None,
    endings: Sequence[Ending],
    *,
    configuration: Configuration,
    after_step: bool,
) -> PointAhead:
    unknown = "; ".join(fuel_unknowns(situation)) or None
    reason = unknown if on.stopped is None else _words(on.stopped)
    return PointAhead(
        distance_to_go_nm=to_go_nm,
        at=on.state.at if on.stopped is None else None,
        planned_kg=on.state.usable_kg if reason is None else None,
        configuration=configuration,
        after_step=after_step,
        needs=tuple(_need(situation, each, from_kg=on.state.usable_kg) for each in endings),
        reason=reason,
    )


def _need(situation: Situation, ending: Ending, *, from_kg: float) -> Need:
    """All that leaves the tanks from the point on, and the reserve; or why it is not known.

    The ledger of a diversion begins after a descent to a level limit and a wait for checklists;
    these are part of the need.
    """
    icao, outcome = ending.leg.aerodrome.icao, ending.outcome
    if not isinstance(outcome, Landed):
        return Need(icao=icao, reason=_words(outcome))
    ledger, onward = outcome.ledger, outcome.onward
    if ledger is None or onward is None or situation.capability.leak_rate_unknown:
        return Need(icao=icao, reason="; ".join(outcome.unknown))
    before_kg, reserve_kg = from_kg - ledger.counted_from_kg, ledger.final_reserve_kg
    return Need(
        icao=icao,
        need_kg=before_kg + ledger.required_kg,
        need_p5_kg=before_kg + onward.spread.fuel_p5_kg + reserve_kg,
        need_p95_kg=from_kg - ledger.margin_at_kg(RARELY_MORE),
        final_reserve_kg=reserve_kg,
    )


def _words(outcome: CannotFly | NotKnown) -> str:
    """What stops a flight, or what is not known of it."""
    return outcome.limited_by if isinstance(outcome, CannotFly) else outcome.what
