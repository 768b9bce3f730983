"""`/v1/profiles`, `/v1/rulebooks`, `/v1/aerodromes`: the data in use, with version and digest."""

from __future__ import annotations

from dataclasses import replace
from http import HTTPStatus
from typing import Annotated, Any, Final

from msgspec import Struct

from decision.case.demos import Demo, installed_demos
from decision.case.types import Aerodrome
from decision.case.written import AERODROME
from decision.fields import about, sized
from decision.profile import Profile
from decision.profile.operator_tables import NO_TABLES
from decision.rulebooks.rulebook import Rulebook, load_rulebook, rulebook_ids
from decision.systems import each_alone
from service.address import Address
from service.collaborators import Collaborators
from service.plain import plain
from service.problems import NOT_FOUND, Problem
from service.profile_type import Heading, profile_type
from service.scopes import Scope

PUBLISHED_PROFILE: Final = profile_type()
DataId = Annotated[str, sized("Its id, as the list of them has it.")]


class Profiles(Struct, frozen=True, kw_only=True, gc=False):
    """The aircraft profiles that are loaded."""

    profiles: Annotated[tuple[Heading, ...], sized("One for each.")]


class Rulebooks(Struct, frozen=True, kw_only=True, gc=False):
    """The rulebooks that are loaded."""

    rulebooks: Annotated[tuple[Heading, ...], sized("One for each.")]


class AerodromeHeading(Struct, frozen=True, kw_only=True, gc=False):
    """Which aerodrome it is."""

    icao: Annotated[str, sized("Its location indicator.")]
    name: Annotated[str, sized("Its name.")]
    elevation_ft: Annotated[float, about("Height above mean sea level.", unit="ft")]
    runways: Annotated[tuple[str, ...], sized("Designators of its runways.")]


class Aerodromes(Struct, frozen=True, kw_only=True, gc=False):
    """The aerodromes that are loaded: a case may name them."""

    aerodromes: Annotated[tuple[AerodromeHeading, ...], sized("One for each.")]


class DemoCase(Struct, frozen=True, kw_only=True, gc=False):
    """A case with invented aircraft and aerodromes."""

    name: Annotated[str, sized("Its name.")]
    title: Annotated[str, sized("What happens, in a line.")]
    meaning: Annotated[str, sized("What it shows.")]
    request: Annotated[dict[str, Any], sized("The case itself: the body of a decision.")]


class Demos(Struct, frozen=True, kw_only=True, gc=False):
    """The demo cases."""

    demos: Annotated[tuple[DemoCase, ...], sized("Each with its request.")]


@Address(
    "GET",
    "/v1/profiles",
    tag="data",
    scope=Scope.READ,
    summary="The aircraft profiles that are loaded.",
    successes={HTTPStatus.OK: "Their headings."},
)
def profiles(with_: Collaborators) -> Profiles:
    """A heading for each."""
    library = with_.library
    return Profiles(profiles=tuple(_heading(library.profile(id)) for id in library.profile_ids))


@Address(
    "GET",
    "/v1/profiles/<id>",
    tag="data",
    scope=Scope.READ,
    summary="One aircraft profile with the failures that can be reported for it.",
    answers=(PUBLISHED_PROFILE,),
    successes={HTTPStatus.OK: "The profile."},
    raises=(NOT_FOUND,),
)
def profile(with_: Collaborators, id: DataId) -> dict[str, Any]:
    """The whole profile."""
    _require(id in with_.library.profile_ids, "profile")
    return _profile(with_.library.profile(id))


@Address(
    "GET",
    "/v1/rulebooks",
    tag="data",
    scope=Scope.READ,
    summary="The rulebooks that are loaded.",
    successes={HTTPStatus.OK: "Their headings."},
)
def rulebooks() -> Rulebooks:
    """A heading for each."""
    return Rulebooks(rulebooks=tuple(_heading(load_rulebook(id)) for id in rulebook_ids()))


@Address(
    "GET",
    "/v1/rulebooks/<id>",
    tag="data",
    scope=Scope.READ,
    summary="One rulebook, every row with its clause and how well it is known.",
    answers=(Rulebook,),
    successes={HTTPStatus.OK: "The rulebook."},
    raises=(NOT_FOUND,),
)
def rulebook(id: DataId) -> Rulebook:
    """The whole rulebook."""
    _require(id in rulebook_ids(), "rulebook")
    return load_rulebook(id)


@Address(
    "GET",
    "/v1/aerodromes",
    tag="data",
    scope=Scope.READ,
    summary="The aerodromes that are loaded: a case may name them.",
    successes={HTTPStatus.OK: "Their headings."},
)
def aerodromes(with_: Collaborators) -> Aerodromes:
    """A heading for each."""
    loaded = with_.library.aerodromes
    return Aerodromes(aerodromes=tuple(_of_aerodrome(loaded[icao]) for icao in sorted(loaded)))


@Address(
    "GET",
    "/v1/aerodromes/<icao>",
    tag="data",
    scope=Scope.READ,
    summary="One aerodrome that a case may name, as a case would describe it.",
    answers=(AERODROME,),
    successes={HTTPStatus.OK: "The aerodrome."},
    raises=(NOT_FOUND,),
)
def aerodrome(with_: Collaborators, icao: Annotated[str, sized("Location indicator.")]) -> Any:  # noqa: ANN401  # any JSON value
    """The whole aerodrome."""
    _require(icao in with_.library.aerodromes, "aerodrome")
    return plain(with_.library.aerodromes[icao])


@Address(
    "GET",
    "/v1/demos",
    tag="data",
    scope=Scope.READ,
    summary="The demo cases: each with what it shows and the request that can be posted as it is.",
    successes={HTTPStatus.OK: "The cases."},
)
def demos() -> Demos:
    """Those that come with the service."""
    return Demos(demos=tuple(_demo(each) for each in installed_demos()))


def _demo(demo: Demo) -> DemoCase:
    return DemoCase(name=demo.name, title=demo.title, meaning=demo.meaning, request=demo.request())


def _require(known: bool, kind: str) -> None:
    if not known:
        raise Problem(NOT_FOUND, f"No {kind} of this name is loaded.")


def _of_aerodrome(aerodrome: Aerodrome) -> AerodromeHeading:
    return AerodromeHeading(
        icao=aerodrome.icao,
        name=aerodrome.name,
        elevation_ft=aerodrome.elevation_ft,
        runways=tuple(runway.ident for runway in aerodrome.runways),
    )


def _heading(data: Profile | Rulebook) -> Heading:
    return Heading(id=data.id, version=data.version, title=data.title, digest=data.digest)


def _profile(profile: Profile) -> dict[str, Any]:
    """Everything of the file but the graph, of which the failures that can be reported.

    An operator's tables are told by their reach.
    """
    everything = plain(replace(profile, tables=NO_TABLES)) | {"tables": plain(profile.tables.reach)}
    del everything["systems"]
    alone = each_alone(profile)
    reported = [
        {
            "id": entry.id,
            "title": entry.title,
            "group": plain(entry.group),
            "needs_detent": entry.needs_detent,
            "needs_position": entry.needs_position,
            "takes_quantity": entry.takes_quantity,
            **plain(alone[entry.id]),
        }
        for entry in profile.systems.catalogue.values()
    ]
    return {**everything, "failures": reported}
