"""`/healthz`, `/readyz`, `/metrics`, `/openapi.json`: for whoever runs the service."""

from __future__ import annotations

from enum import StrEnum
from functools import cache
from http import HTTPStatus
from typing import Annotated, Final, Literal

from flask import Response
from msgspec import Struct

from decision.fields import Instant, about
from service.address import Address
from service.collaborators import Collaborators
from service.fetching.breaker import BreakerState
from service.metrics import CONTENT_TYPE
from service.negotiation import JSON, TEXT
from service.problems import UNAVAILABLE
from service.scopes import Scope
from service.settings import ROOT

API_DOCUMENT: Final = ROOT / "service" / "openapi.json"


class WeatherSource(StrEnum):
    """The states of the breaker, and that there is nothing to fetch from."""

    NONE = "none"
    CLOSED = BreakerState.CLOSED.value
    OPEN = BreakerState.OPEN.value
    HALF_OPEN = BreakerState.HALF_OPEN.value


class Alive(Struct, frozen=True, kw_only=True, gc=False):
    """The process answers."""

    status: Annotated[Literal["alive"], about("That it does.")]


class ServiceTime(Struct, frozen=True, kw_only=True, gc=False):
    """What the service's clock shows."""

    now: Annotated[Instant, about("The present moment.")]


class Ready(Struct, frozen=True, kw_only=True, gc=False):
    """Decisions can be made and recorded."""

    status: Annotated[Literal["ready"], about("That they can.")]
    store: Annotated[Literal["ok"], about("The store answers.")]
    profiles: Annotated[tuple[str, ...], about("Ids of the aircraft profiles that are loaded.")]
    weather_source: Annotated[
        WeatherSource,
        about(
            "The breaker before the source of reports: closed, they are fetched; open, the source"
            " failed and is left alone; half_open, it is tried again. none: no source is set up."
        ),
    ]


@Address(
    "GET",
    "/v1/time",
    tag="operation",
    of_the_moment=True,
    scope=Scope.OPEN,
    summary="The service's clock, by which its pages count time left.",
    successes={HTTPStatus.OK: "The moment."},
)
def service_time(with_: Collaborators) -> ServiceTime:
    """The present moment."""
    return ServiceTime(now=with_.clock())


@Address(
    "GET",
    "/healthz",
    tag="operation",
    of_the_moment=True,
    scope=Scope.OPEN,
    summary="Whether the process answers; touches nothing else.",
    successes={HTTPStatus.OK: "It does."},
)
def alive() -> Alive:
    """It answers."""
    return Alive(status="alive")


@Address(
    "GET",
    "/readyz",
    tag="operation",
    of_the_moment=True,
    scope=Scope.READ,
    summary="Whether decisions can be made and recorded.",
    successes={HTTPStatus.OK: "They can."},
    raises=(UNAVAILABLE,),
)
def ready(with_: Collaborators) -> Ready:
    """A source that fails makes decisions poorer, not this process unfit: it stays ready."""
    with_.log.check()
    return Ready(
        status="ready",
        store="ok",
        profiles=tuple(with_.library.profile_ids),
        weather_source=WeatherSource.NONE
        if with_.fetcher is None
        else WeatherSource(with_.fetcher.breaker_state.value),
    )


@Address(
    "GET",
    "/metrics",
    tag="operation",
    of_the_moment=True,
    scope=Scope.READ,
    summary="Counts and durations, in the text format of Prometheus.",
    forms=(TEXT,),
    successes={HTTPStatus.OK: "The metrics of every server process together."},
)
def metrics(with_: Collaborators) -> Response:
    """The counts as text."""
    return Response(with_.metrics.text(), content_type=CONTENT_TYPE)


@Address(
    "GET",
    "/openapi.json",
    tag="operation",
    scope=Scope.READ,
    summary="The API document: every address, field, unit and range.",
    successes={HTTPStatus.OK: "The document."},
)
def openapi() -> Response:
    """The committed file."""
    return Response(_api_document(), mimetype=JSON)


@cache
def _api_document() -> bytes:
    return API_DOCUMENT.read_bytes()
