"""`/v1/failures/expand`: what broke, what that takes away, and what is left."""

from __future__ import annotations

from http import HTTPStatus

from decision.answer.calculators import Expansion
from decision.profile import Profile
from decision.systems import Capability, explain, timeline
from service.address import Address
from service.collaborators import Collaborators
from service.plain import plain
from service.problems import OUT_OF_RANGE
from service.questions import Body, capability_of, pair_of, profile_of
from service.shapes import EXPANSION


@Address(
    "POST",
    "/v1/failures/expand",
    tag="tools",
    summary="What failures take away and what is left, each with the path to its cause.",
    body=EXPANSION,
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
def expand_failures(with_: Collaborators, asked: Body) -> dict[str, object]:
    """The capability, in words too, and the steps that it asks for on the way."""
    profile = profile_of(asked, with_.library)
    left = capability_of(asked, profile)
    return {
        "capability": plain(left),
        "sentences": plain(explain(left)),
        "timeline": _timeline(asked, profile, left),
    }


def _timeline(body: Body, profile: Profile, left: Capability) -> list[dict[str, object]] | None:
    """The steps on the way to the threshold; None where no way is given."""
    track_nm, groundspeed_kt = pair_of(body, "track_nm", "groundspeed_kt")
    if track_nm is None or groundspeed_kt is None:
        return None
    steps = timeline(profile, left, track_nm=track_nm, groundspeed_kt=groundspeed_kt)
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
