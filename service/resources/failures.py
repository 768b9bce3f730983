"""`/v1/failures/expand`: what broke, what that takes away, and what is left."""

from __future__ import annotations

from flask import Blueprint, Response

from decision.profile import Profile
from decision.systems import Capability, explain, timeline
from service.collaborators import Collaborators
from service.incoming import json_body, require_query
from service.plain import plain
from service.questions import Body, capability_of, pair_of, profile_of, with_defaults
from service.representation import json_response
from service.shapes import EXPANSION


def failures(with_: Collaborators) -> Blueprint:
    """The routes of failures."""
    blueprint = Blueprint("failures", __name__)

    @blueprint.post("/v1/failures/expand")
    def expand() -> Response:
        require_query(())
        body = with_defaults(json_body(EXPANSION), EXPANSION)
        profile = profile_of(body, with_.library)
        left = capability_of(body, profile)
        return json_response(
            {
                "capability": plain(left),
                "sentences": plain(explain(left)),
                "timeline": _timeline(body, profile, left),
            }
        )

    return blueprint


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
