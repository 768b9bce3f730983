"""`/v1/failures/expand`: what broke, what that takes away, and what is left."""

from __future__ import annotations

from http import HTTPStatus

from decision.answer.calculators import Expansion
from decision.case.derive import record_of
from decision.systems import Capability, explain, timeline
from service.address import Address
from service.plain import plain
from service.problems import OUT_OF_RANGE
from service.questions import capability_of, pair_of
from service.scopes import Scope
from service.shapes import FailuresQuestion


@Address(
    "POST",
    "/v1/failures/expand",
    tag="tools",
    scope=Scope.READ,
    summary="What failures take away and what is left, each with the path to its cause.",
    body=record_of(FailuresQuestion),
    answers=(Expansion,),
    example={
        "profile": "xtj150",
        "failures": [{"id": "hydraulic-1"}],
        "track_nm": 40,
        "groundspeed_kt": 180,
    },
    successes={HTTPStatus.OK: "What is left."},
    raises=(OUT_OF_RANGE,),
)
def expand_failures(asked: FailuresQuestion) -> dict[str, object]:
    """The capability, in words too, and the steps that it asks for on the way."""
    left = capability_of(asked)
    return {
        "capability": plain(left),
        "sentences": plain(explain(left)),
        "timeline": _timeline(asked, left),
    }


def _timeline(asked: FailuresQuestion, left: Capability) -> list[dict[str, object]] | None:
    """The steps on the way to the threshold; None where no way is given."""
    pair = pair_of(asked)
    if pair is None:
        return None
    track_nm, groundspeed_kt = pair
    steps = timeline(asked.profile, left, track_nm=track_nm, groundspeed_kt=groundspeed_kt)
    return [
        {
            "step": step.name,
            "distance_to_go_nm": step.distance_to_go_nm,
            "in_min": step.in_min,
            "minutes": step.duration_min,
            "cannot_be_undone": step.one_way,
            "late_nm": step.late_nm,
            "because": plain(step.because),
        }
        for step in steps
    ]
