"""What has to be done on the way to the threshold: where, when, and what of it is for good.

The steps come from the systems room, which knows what each takes; the moments come from the
approach as it is flown, so that they agree with the last clean point to the second.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Final

from decision.errors import OutOfRange
from decision.flight.approach import ApproachFlight, checklist_min, extension_nm
from decision.flight.situation import Situation
from decision.flight.tracks import to_run_nm
from decision.systems import TimelineStep, timeline
from decision.systems.timeline import wing_changes_for_good
from decision.units import S_PER_H

CHECKLISTS: Final = "checklists"


@dataclass(frozen=True, slots=True, kw_only=True)
class StepAhead:
    """One thing to do on the way to the threshold.

    `late_nm`: how much further out it should have begun; more than zero: not ready in time.
    """

    step: str
    distance_to_go_nm: float
    at: datetime
    minutes: float
    cannot_be_undone: bool
    late_nm: float
    because: tuple[str, ...]


def steps_ahead(situation: Situation, flight: ApproachFlight | None) -> tuple[StepAhead, ...]:
    """The steps of the approach in order; empty where the way to run is not known or too short.

    Checklists run on the way from its beginning.
    """
    track_nm = to_run_nm(situation.case)
    if flight is None or track_nm is None:
        return ()
    changed_nm = extension_nm(situation)
    try:
        steps = timeline(
            situation.case.aircraft.profile,
            replace(situation.capability, checklist_min=0.0),
            track_nm=track_nm,
            groundspeed_kt=_final_groundspeed_kt(flight),
            gear_extension_nm=changed_nm,
            flap_extension_nm=changed_nm if wing_changes_for_good(situation.capability) else None,
        )
    except OutOfRange:
        return ()  # inside the gate, or so slow or far that no approach is planned yet
    moments = _moments(flight, track_nm, situation.case.as_of)
    return (*_checklists(situation, track_nm), *(_placed(step, moments) for step in steps))


def _checklists(situation: Situation, track_nm: float) -> Iterator[StepAhead]:
    minutes = checklist_min(situation)
    if minutes > 0.0:
        yield StepAhead(
            step=CHECKLISTS,
            distance_to_go_nm=track_nm,
            at=situation.case.as_of,
            minutes=minutes,
            cannot_be_undone=False,
            late_nm=0.0,
            because=(),
        )


def _final_groundspeed_kt(flight: ApproachFlight) -> float:
    """Mean ground speed from the extension of the gear to the minimum."""
    hours = (flight.minimum.state.at - flight.last_clean.state.at).total_seconds() / S_PER_H
    return 0.0 if hours <= 0.0 else flight.extension_nm / hours


def _moments(
    flight: ApproachFlight, track_nm: float, as_of: datetime
) -> tuple[tuple[float, datetime], ...]:
    """Distance to go and moment, furthest first: after any hold, at the extension, at the end."""
    return (
        (track_nm, as_of),
        (flight.waited_nm, flight.waited.state.at),
        (flight.extension_nm, flight.last_clean.state.at),
        (0.0, flight.minimum.state.at),
    )


def _placed(step: TimelineStep, moments: Sequence[tuple[float, datetime]]) -> StepAhead:
    return StepAhead(
        step=step.name,
        distance_to_go_nm=step.distance_to_go_nm,
        at=_at(step.distance_to_go_nm, moments),
        minutes=step.duration_min,
        cannot_be_undone=step.one_way,
        late_nm=step.late_nm,
        because=step.because,
    )


def _at(to_go_nm: float, moments: Sequence[tuple[float, datetime]]) -> datetime:
    """The moment at a distance, evenly between the two that are known around it."""
    around = (each for each in pairwise(moments) if to_go_nm >= each[1][0])
    (far_nm, far_at), (near_nm, near_at) = next(around)
    if far_nm == near_nm:  # the change is due at once
        return near_at
    return far_at + (near_at - far_at) * ((far_nm - to_go_nm) / (far_nm - near_nm))
