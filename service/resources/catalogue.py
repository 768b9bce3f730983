"""`/v1/profiles`, `/v1/rulebooks`, `/v1/aerodromes`: the data in use, with version and digest."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flask import Blueprint, Response

from decision.profile import Profile
from decision.profile.operator_tables import NO_TABLES
from decision.rules.rulebook import Rulebook, load_rulebook, rulebook_ids
from service.collaborators import Collaborators
from service.incoming import require_query
from service.plain import plain
from service.problems import NOT_FOUND, Problem
from service.representation import json_response


def catalogue(with_: Collaborators) -> Blueprint:
    """The routes of the data in use."""
    blueprint = Blueprint("catalogue", __name__)
    library = with_.library

    @blueprint.get("/v1/profiles")
    def profiles() -> Response:
        require_query(())
        loaded = (library.profile(each) for each in library.profile_ids)
        return json_response({"profiles": [_heading(profile) for profile in loaded]})

    @blueprint.get("/v1/profiles/<identity>")
    def profile(identity: str) -> Response:
        require_query(())
        _require(identity in library.profile_ids, "profile")
        return json_response(_profile(library.profile(identity)))

    @blueprint.get("/v1/rulebooks")
    def rulebooks() -> Response:
        require_query(())
        loaded = (load_rulebook(each) for each in rulebook_ids())
        return json_response({"rulebooks": [_heading(book) for book in loaded]})

    @blueprint.get("/v1/rulebooks/<identity>")
    def rulebook(identity: str) -> Response:
        require_query(())
        _require(identity in rulebook_ids(), "rulebook")
        return json_response(plain(load_rulebook(identity)))

    @blueprint.get("/v1/aerodromes/<icao>")
    def aerodrome(icao: str) -> Response:
        require_query(())
        _require(icao in library.aerodromes, "aerodrome")
        return json_response(plain(library.aerodromes[icao]))

    return blueprint


def _require(known: bool, kind: str) -> None:
    if not known:
        raise Problem(NOT_FOUND, f"No {kind} of this name is loaded.")


def _heading(data: Profile | Rulebook) -> dict[str, Any]:
    return {
        "id": data.id,
        "version": data.version,
        "title": data.title,
        "digest": data.digest,
    }


def _profile(profile: Profile) -> dict[str, Any]:
    """Everything of the file but the graph, of which the failures that can be reported.

    An operator's tables are told by their reach.
    """
    everything = plain(replace(profile, tables=NO_TABLES)) | {"tables": plain(profile.tables.reach)}
    del everything["systems"]
    catalogue = profile.systems.catalogue
    reported = [
        {
            "id": entry.id,
            "title": entry.title,
            "group": plain(entry.group),
            "needs_detent": entry.needs_detent,
            "needs_position": entry.needs_position,
        }
        for entry in catalogue.values()
    ]
    return {**everything, "failures": reported}
