"""`/v1/decisions/{id}/again` and `/what-if`: a recorded case, later or tried otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from http import HTTPStatus
from typing import Any, Final

from flask import Response, request

from decision.again import FIXED_ANEW, FIXED_VARIED, case_anew, faults_in, fixed_faults, merged
from decision.answer.again import AnswerAgain, SideBySide, moved
from decision.answer.changed import changed
from decision.answer.old import of_now
from decision.case.derive import record_of
from decision.errors import Fault, InvalidCase
from service.address import ETAG, Address
from service.collaborators import Collaborators
from service.incoming import KEY
from service.jsontext import read_json, write_json
from service.metrics import tally_of_row
from service.negotiation import FORMS_OF_A_BRIEF
from service.problems import (
    CONFLICT,
    GONE,
    KEY_REUSED,
    NOT_FOUND,
    OUT_OF_RANGE,
    UNAVAILABLE,
    invalid,
)
from service.resources.decisions import (
    Body,
    DecisionId,
    answered,
    created,
    draft_of,
    filled_out,
    known,
    recorded,
)
from service.scopes import Scope
from service.shapes import DecideAgain, Variations
from service.spans import span
from service.store import Draft

Data = Mapping[str, Any]

PATCH: Final = "/patch"
INPUTS: Final = "/inputs"


@Address(
    "POST",
    "/v1/decisions/<id>/again",
    tag="decisions",
    scope=Scope.DECIDE,
    summary="Decide a recorded case anew, as it is now, and record the decision.",
    description="`as_of` is the moment of deciding, by the service's clock. What the patch gives"
    " counts from then; position, miles, fuel, mass and level that it does not give are carried"
    " along the way of the recorded action, each listed in `assumptions` with its age. State that"
    " is older than `policy.state_max_age_min`, or that cannot be told from the way, decides"
    " nothing: INSUFFICIENT_DATA, and `ask` for the state. With no news since, the verdict is no"
    " better and the deadline no later than before.",
    body=record_of(DecideAgain),
    example={
        "patch": {"fuel": {"on_board_kg": 3040}},
        "add_reports": ["SPECI XKAL 140614Z 26008KT 0300 R27R/0300N FG VV001 08/07 Q1013"],
    },
    headers=(KEY,),
    answers=(AnswerAgain,),
    forms=FORMS_OF_A_BRIEF,
    successes={HTTPStatus.CREATED: "Decided and recorded."},
    sends={HTTPStatus.CREATED: {"Location": "Address of the recorded decision.", **ETAG}},
    raises=(NOT_FOUND, GONE, OUT_OF_RANGE, KEY_REUSED, CONFLICT, UNAVAILABLE),
)
def decide_again(
    with_: Collaborators, form: str, key: str | None, body: Body, id: DecisionId
) -> Response:
    """Decide the case of a record as it is now."""
    sent = request.path.encode() + b"\n" + request.get_data()  # a key is for one decision, too
    draft = partial(_anew, with_, body, id)
    return created(recorded(with_, key, sent, draft), form, with_)


@Address(
    "POST",
    "/v1/decisions/<id>/what-if",
    tag="decisions",
    scope=Scope.DECIDE,
    summary="Try variations of a recorded case, side by side; nothing is recorded.",
    description="Each patch, and each of `inputs`, is of the recorded case alone, at its moment: no"
    " state is carried on. Told are the figures: verdict, action, deadline and the room of every"
    " course, and what of them moves. `inputs` are those of flip points: fuel, mass and delay, and"
    " what reports and winds say; `turns_of` asks where one turns the verdict, the others at their"
    " values.",
    body=record_of(Variations),
    example={
        "patches": [
            {"fuel": {"on_board_kg": 4450}, "aircraft": {"mass_kg": 61300}},
            {"plan": {"hold_min": 10}},
        ],
        "inputs": [{"destination_visibility_m": 800, "delay_min": 5}],
        "turns_of": ["fuel_on_board_kg"],
    },
    answers=(SideBySide,),
    successes={HTTPStatus.OK: "Decided, not recorded."},
    raises=(NOT_FOUND, GONE, OUT_OF_RANGE, UNAVAILABLE),
)
def what_if(with_: Collaborators, body: Body, id: DecisionId) -> dict[str, object]:
    """The figures of each variation beside those of the case."""
    stored = read_json(known(with_.log.told(id)).request)
    patches: Any = body.get("patches") or ()
    rows, faults = [], list[Fault]()
    for index, patch in enumerate(patches):
        try:
            asked = _varied(stored, patch)
            rows.append((asked, _row(with_, asked)))
        except InvalidCase as error:
            faults += faults_in(error.faults, at=f"/patches/{index}")
    try:
        before, tried = _tried(with_, stored, body)
    except InvalidCase as error:
        faults += faults_in(error.faults, at=INPUTS)
    if faults:
        raise invalid(faults)
    return {
        "decision": id,
        "stored": before,
        "varied": [
            {"row": row, "moved": moved(before, row, request_before=stored, request_after=asked)}
            for asked, row in rows
        ],
        "tried": [
            {
                **each,
                "moved": moved(before, each["row"], request_before=stored, request_after=stored),
            }
            for each in tried
        ],
    }


def _row(with_: Collaborators, asked: Body) -> Data:
    with with_.gate.passed(asked), span("decide"):
        row = with_.engine.row(asked)
    with_.metrics.decided(tally_of_row(row))
    return row


def _tried(with_: Collaborators, stored: Data, body: Body) -> tuple[Data, Sequence[Any]]:
    """The case as it is, and at other values. Raises: InvalidCase for those it cannot have."""
    inputs: Any = body.get("inputs") or ()
    turns_of: Any = body.get("turns_of") or ()
    given = [{n: value for n, value in each.items() if value is not None} for each in inputs]
    with with_.gate.passed(stored), span("decide"):
        before, tried = with_.engine.tried(stored, given, turns_of)
    rows: list[Any] = [before, *(each["row"] for each in tried)]
    for row in rows:
        with_.metrics.decided(tally_of_row(row))
    return before, tried


def _varied(stored: Data, patch: Data) -> Body:
    """The recorded case with a patch. Raises: InvalidCase if it touches what is fixed."""
    _require(fixed_faults(patch, FIXED_VARIED))
    varied: Body = merged(stored, patch)
    return varied


def _anew(with_: Collaborators, body: Body, previous: str, identity: str) -> Draft:
    """The decision on the case of a record as it is now, with what differs from that record."""
    told = known(with_.log.told(previous))
    stored = read_json(told.request)
    before = read_json(told.response)
    patch: Any = body.get("patch") or {}
    reports: Any = body.get("add_reports") or ()
    with _faults_of_the_patch(added=bool(reports)):
        _require(fixed_faults(patch, FIXED_ANEW))
        now = case_anew(
            stored,
            of_now(before if told.whole is None else read_json(told.whole)),
            patch=patch,
            reports=reports,
            at=with_.clock(),
            library=with_.library,
        )
        asked = filled_out(with_, now)
        answer = answered(with_, asked, identity)
    sent = with_.engine.sent(answer)
    more = {
        "previous": previous,
        "changed": changed(before, sent, request_before=stored, request_after=asked),
    }
    return draft_of(with_, asked, write_json(asked), {**answer, **more})


@contextmanager
def _faults_of_the_patch(*, added: bool) -> Iterator[None]:
    """Faults of the case that came of a patch are told of the body that has the patch.

    Raises: Problem for them.
    """
    try:
        yield
    except InvalidCase as error:
        raise invalid(faults_in(error.faults, at=PATCH, added=added)) from None


def _require(faults: tuple[Fault, ...]) -> None:
    """Raises: InvalidCase if there are faults."""
    if faults:
        raise InvalidCase(faults)
