"""`/v1/profiles`, `/v1/rulebooks`, `/v1/aerodromes`: the data in use, with version and digest."""

from __future__ import annotations

from dataclasses import replace
from http import HTTPStatus
from typing import Annotated, Any, Final

from flask import Response
from msgspec import Struct

from decision.case import Library
from decision.case.demos import Demo, installed_demos
from decision.case.propose import FARTHEST_NM
from decision.case.types import Aerodrome
from decision.case.written import AERODROME
from decision.fields import about, sized
from decision.profile import Profile
from decision.profile.operator_tables import NO_TABLES
from decision.quantities import Position
from decision.rulebooks.rulebook import Rulebook, load_rulebook, rulebook_ids
from decision.systems import each_alone
from service.address import Address
from service.collaborators import Collaborators
from service.plain import plain
from service.problems import NOT_FOUND, Problem
from service.profile_type import Heading, profile_type
from service.representation import LINK, json_response, linked
from service.scopes import Scope

PUBLISHED_PROFILE: Final = profile_type()
MOST_HEADINGS: Final = 1000
FRACTION: Final = r"(\.\d{1,9})?"
LATITUDE: Final = rf"-?(90(\.0{{1,9}})?|[0-8]?\d{FRACTION})"
LONGITUDE: Final = rf"-?(180(\.0{{1,9}})?|(1[0-7]\d|\d{{1,2}}){FRACTION})"
Point = Annotated[
    str,
    sized(
        "Only those near a point, the nearest first: latitude and longitude in degrees, north and"
        " east positive, with a comma between.",
        longest=30,
        pattern=f"{LATITUDE},{LONGITUDE}",
        examples=("47.2,-35.95",),
    ),
]
Prefix = Annotated[
    str,
    sized(
        "Only indicators that begin so.",
        shortest=1,
        longest=4,
        pattern="[A-Z][A-Z0-9]*",
        examples=("XK",),
    ),
]
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
    distance_nm: Annotated[
        float | None, about("How far from `near`; null: nothing is near anything.", unit="NM")
    ]


class Aerodromes(Struct, frozen=True, kw_only=True, gc=False):
    """The aerodromes that are loaded: a case may name them."""

    aerodromes: Annotated[
        tuple[AerodromeHeading, ...],
        sized("A page of them: by indicator, or with `near` the nearest first."),
    ]
    count: Annotated[int, about("How many there are that are asked for, on all pages.")]
    next_after: Annotated[
        str | None, about("What `after` is for the next page; null: this is the last.")
    ]


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
    summary="The aerodromes that are loaded: all by pages, by a prefix, or near a point.",
    answers=(Aerodromes,),
    successes={HTTPStatus.OK: "Their headings."},
    sends={HTTPStatus.OK: LINK},
)
def aerodromes(
    with_: Collaborators,
    *,
    prefix: Prefix | None = None,
    near: Point | None = None,
    within_nm: Annotated[
        int, about("Greatest distance from `near`.", low=1, high=int(FARTHEST_NM), unit="NM")
    ] = 100,
    limit: Annotated[int, about("Aerodromes of a page.", low=1, high=MOST_HEADINGS)] = (
        MOST_HEADINGS
    ),
    after: Annotated[
        str, sized("Only those after this indicator: `next_after` of a page.", longest=4)
    ] = "",
) -> Response:
    """A heading for each that is asked for."""
    if near is None:
        return _by_name(with_.library, prefix or "", limit=limit, after=after)
    found = with_.library.atlas.within(_point(near), within_nm, most=len(with_.library.atlas))
    wanted = [each for each in found.places if each.icao.startswith(prefix or "")]
    told = Aerodromes(
        aerodromes=tuple(
            _of_aerodrome(with_.library.aerodromes[each.icao], distance_nm=each.distance_nm)
            for each in wanted[:limit]
        ),
        count=len(wanted),
        next_after=None,
    )
    return json_response(plain(told))


def _by_name(library: Library, prefix: str, *, limit: int, after: str) -> Response:
    wanted = sorted(icao for icao in library.aerodromes if icao.startswith(prefix))
    page = [icao for icao in wanted if icao > after][: limit + 1]
    following = page[limit - 1] if len(page) > limit else None
    told = Aerodromes(
        aerodromes=tuple(_of_aerodrome(library.aerodromes[icao]) for icao in page[:limit]),
        count=len(wanted),
        next_after=following,
    )
    link = None if following is None else {"limit": limit, "after": following}
    return linked(json_response(plain(told)), link)


def _point(text: str) -> Position:
    latitude_deg, longitude_deg = map(float, text.split(","))
    return Position(latitude_deg=latitude_deg, longitude_deg=longitude_deg)


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


def _of_aerodrome(aerodrome: Aerodrome, *, distance_nm: float | None = None) -> AerodromeHeading:
    return AerodromeHeading(
        icao=aerodrome.icao,
        name=aerodrome.name,
        elevation_ft=aerodrome.elevation_ft,
        runways=tuple(runway.ident for runway in aerodrome.runways),
        distance_nm=None if distance_nm is None else round(distance_nm, 1),
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
