"""Parts of a recorded decision, made from all that was computed for it.

Of an answer of an older format they are made from what was sent; a member that it did not have
stays away.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Annotated, Any, Final

from flask import Response
from msgspec import Struct

from decision.answer.courses import MOST_FINDINGS, AttemptTold, CourseTold, FindingTold, RuleTold
from decision.answer.old import of_now
from decision.answer.types import DecodedPair, PlaceWeather
from decision.case import CASE
from decision.fields import about, sized
from decision.rules.finding import Outcome
from service.address import Address
from service.collaborators import Collaborators
from service.jsontext import read_json, write_json
from service.negotiation import JSON
from service.problems import GONE, NOT_FOUND, UNAVAILABLE, Problem
from service.representation import LINK, linked, represented
from service.resources.decisions import DecisionId, known
from service.scopes import Scope

Data = Mapping[str, Any]

OUTCOME: Final = f"(?:{'|'.join(Outcome)})"
SUCCESSES: Final = {
    HTTPStatus.OK: "The part.",
}
Label = Annotated[str, sized("Label of a course, as `courses` of the answer has it.")]
Outcomes = Annotated[
    str, sized("Only these outcomes, with commas between.", pattern=f"{OUTCOME}(?:,{OUTCOME})*")
]
Rules = Annotated[dict[str, RuleTold], about("The rules that are named here, by code.")]
Silent = Annotated[
    dict[str, tuple[str, ...]], about("Codes of rules that do not apply, by subject.")
]


class Findings(Struct, frozen=True, kw_only=True, gc=False):
    """What every rule says, each finding told once."""

    findings: Annotated[
        tuple[FindingTold, ...], about("Those that were asked for, a page of them.")
    ]
    not_applicable: Silent
    rules: Rules
    next_after: Annotated[
        int | None, about("What `after` is for the next page; null: this is the last.")
    ]


class CourseInFull(Struct, frozen=True, kw_only=True, gc=False):
    """A course with its steps, its approaches and what every rule says of them."""

    course: Annotated[CourseTold, about("With how it is flown and its steps.")]
    attempts: Annotated[dict[str, AttemptTold], about("Its approaches by id.")]
    findings: Annotated[tuple[FindingTold, ...], about("Of its approaches, and of itself.")]
    not_applicable: Silent
    rules: Rules


class WeatherInFull(Struct, frozen=True, kw_only=True, gc=False):
    """The weather that was judged."""

    weather: Annotated[dict[str, PlaceWeather], about("By location indicator.")]
    reports: Annotated[
        dict[str, DecodedPair], about("Reports in force decoded, by location indicator.")
    ]


@Address(
    "GET",
    "/v1/decisions/<id>/request",
    tag="decisions",
    scope=Scope.READ,
    summary="The case that a recorded decision answers, with the reports that were fetched for it.",
    answers=(CASE,),
    successes={
        HTTPStatus.OK: "The case; where nothing was fetched, byte for byte as it was sent.",
    },
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def read_request(with_: Collaborators, id: DecisionId) -> Response:
    """What was decided: posted again, it gets the same answer."""
    return represented(known(with_.log.told(id)).request, JSON, with_.engine, with_.clock)


@Address(
    "GET",
    "/v1/decisions/<id>/findings",
    tag="decisions",
    scope=Scope.READ,
    summary="What every rule says in a recorded decision, or those of an outcome or a course.",
    answers=(Findings,),
    successes=SUCCESSES,
    sends={HTTPStatus.OK: LINK},
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def read_findings(
    with_: Collaborators,
    id: DecisionId,
    *,
    outcome: Outcomes | None = None,
    course: Label | None = None,
    limit: Annotated[int, about("Findings of a page.", low=1, high=MOST_FINDINGS)] = MOST_FINDINGS,
    after: Annotated[int, about("Findings to pass over: `next_after` of a page.", low=0)] = 0,
) -> Response:
    """The findings that are asked for."""
    whole = _whole(with_, id)
    subjects = None if course is None else _subjects(_course(whole, course))
    found = _found(whole, subjects, None if outcome is None else outcome.split(","))
    end = after + limit
    following = end if end < len(found["findings"]) else None
    page = _named(whole, {**found, "findings": found["findings"][after:end]})
    answer = _part(with_, {**page, "next_after": following})
    return linked(answer, None if following is None else {"limit": limit, "after": following})


@Address(
    "GET",
    "/v1/decisions/<id>/courses/<course>",
    tag="decisions",
    scope=Scope.READ,
    summary="A course of a recorded decision, with its steps, approaches and findings.",
    answers=(CourseInFull,),
    successes=SUCCESSES,
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def read_course(with_: Collaborators, id: DecisionId, course: Label) -> Response:
    """All that was computed of a course."""
    whole = _whole(with_, id)
    found = _course(whole, course)
    attempts = {name: whole["attempts"][name] for name in found["flight"]["attempts"]}
    of_it = _named(whole, _found(whole, _subjects(found), None))
    return _part(with_, {"course": found, "attempts": attempts, **of_it})


@Address(
    "GET",
    "/v1/decisions/<id>/weather",
    tag="decisions",
    scope=Scope.READ,
    summary="The weather of a recorded decision: what governs, and its reports decoded.",
    answers=(WeatherInFull,),
    successes=SUCCESSES,
    raises=(NOT_FOUND, GONE, UNAVAILABLE),
)
def read_weather(with_: Collaborators, id: DecisionId) -> Response:
    """What governs, by place, and from which reports."""
    whole = _whole(with_, id)
    return _part(with_, {name: whole[name] for name in ("weather", "reports")})


def _whole(with_: Collaborators, identity: str) -> Data:
    told = known(with_.log.told(identity))
    answer = read_json(told.fullest)
    return of_now(answer)


def _course(whole: Data, label: str) -> Data:
    for each in whole["courses"]:
        if each["course"] == label:
            found: Data = each
            return found
    raise Problem(NOT_FOUND, "The decision has no course of this label.")


def _subjects(course: Data) -> tuple[str, ...]:
    return (*course["flight"]["attempts"], course["course"])


def _found(
    whole: Data, subjects: Sequence[str] | None, outcomes: Sequence[str] | None
) -> dict[str, Any]:
    """What the rules say of these subjects with these outcomes; None: of all, with any."""
    found = [
        each
        for each in whole["findings"]
        if (subjects is None or each["subject"] in subjects)
        and (outcomes is None or each["outcome"] in outcomes)
    ]
    silent = {
        subject: codes
        for subject, codes in whole["not_applicable"].items()
        if (subjects is None or subject in subjects)
        and (outcomes is None or Outcome.NOT_APPLICABLE in outcomes)
    }
    return {"findings": found, "not_applicable": silent}


def _named(whole: Data, found: Data) -> dict[str, Any]:
    """Findings with the rules that they name."""
    named = {each["rule"] for each in found["findings"]}
    rules = {code: rule for code, rule in whole["rules"].items() if code in named}
    return {**found, "rules": rules}


def _part(with_: Collaborators, part: Data) -> Response:
    return represented(write_json(part), JSON, with_.engine, with_.clock)
