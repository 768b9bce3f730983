"""`/v1/decisions/batch`: a case a line, an answer a line.

Each line of the answer is what the case would get by itself, byte for byte, with the number of its
`line` and the caller's `ref` before the rest: a decision, or a problem document. The status is
spent with the first byte, so the last line says that it is the last: without it the answer is not
whole.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator
from contextlib import closing, suppress
from functools import partial
from http import HTTPStatus
from types import MappingProxyType
from typing import Annotated, Final, assert_never

from flask import Response, g, request
from msgspec import Struct

from decision.answer import Answer, RowTold
from decision.errors import Fault
from decision.fields import about, sized
from service.address import Address
from service.collaborators import Collaborators
from service.door.door import caller_name
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import KEY, KEY_HEADER
from service.jsontext import write_json
from service.lines import Body, lines_of_body, read_lines
from service.many import (
    CASE_OF_LINE,
    AskedLine,
    DecidedLine,
    LineView,
    RefusedLine,
    ReplayedLine,
    Result,
    decide_many,
    refused_by,
)
from service.negotiation import JSON_LINES
from service.observing import note
from service.problems import (
    BY_SLUG,
    UNAVAILABLE,
    Problem,
    ProblemDocument,
    base,
    document_of,
    invalid,
    problem_of,
)
from service.resources.decisions import known
from service.scopes import Scope
from service.store import Draft, Replay, Reservation, StoreUnavailable, digest

SMALL: Final = 64  # lines; fewer are decided here before other processes would have started
UNRECORDED: Final = Fault(
    pointer=f"{KEY_HEADER}:",
    code="not_recorded",
    message="has no meaning where nothing is recorded",
    accepted="?record=true beside it, or no key",
)
ROWS_KEPT: Final = Fault(
    pointer="?view",
    code="not_recorded",
    message="a row is no decision that could be recorded",
    accepted="view=answers, or record=false",
)
LineNumber = Annotated[int, about("Number of the line in the body, empty ones counted.", low=1)]
Ref = Annotated[str | None, sized("The ref that the line was sent with; null if it had none.")]


class AnswerOfLine(Answer, frozen=True, kw_only=True, gc=False):
    """What a line gets that is decided: the answer, after its line and ref."""

    line: LineNumber
    ref: Ref


class RowOfLine(RowTold, frozen=True, kw_only=True, gc=False):
    """What a line gets of which only the figures are wanted, after its line and ref."""

    line: LineNumber
    ref: Ref


class ProblemOfLine(ProblemDocument, frozen=True, kw_only=True, gc=False):
    """What a line gets that is refused."""

    line: LineNumber
    ref: Ref


class EndOfLines(Struct, frozen=True, kw_only=True, gc=False):
    """The last line of a whole answer."""

    end: Annotated[bool, about("true: nothing follows.")]
    count: Annotated[int, about("Lines before this one.", low=0)]


@Address(
    "POST",
    "/v1/decisions/batch",
    tag="decisions",
    scope=Scope.DECIDE,
    summary="Decide many cases: one a line in, one a line out, in the same order.",
    description="Each line of the answer begins with the number of its `line` in the body and the"
    " caller's `ref`, which may stand beside the case; the rest is what the case would get by"
    " itself: the decision, or a problem document; the others go on. Empty lines are passed over."
    ' The last line is `{"end": true, "count": n}`; an answer without it is not whole. Nothing is'
    " fetched. With `record=true` an `Idempotency-Key` makes key and line number the key of each:"
    " sent again, what was recorded before comes back, and only the rest is decided. The limits on"
    " bytes, lines and seconds are settings.",
    line=CASE_OF_LINE,
    headers=(KEY,),
    answers=(AnswerOfLine, RowOfLine, ProblemOfLine, EndOfLines),
    forms=JSON_LINES,
    successes={HTTPStatus.OK: "The lines, sent as they are decided."},
)
def decide_batch(
    with_: Collaborators,
    form: str,
    key: str | None,
    record: Annotated[
        bool, about("true: record each decision; otherwise their ids are null.")
    ] = False,
    view: Annotated[
        LineView,
        about("rows: verdict, action, deadline and margins only, for sweeps; not recorded."),
    ] = LineView.ANSWERS,
) -> Response:
    """A line for each line."""
    if record and view is LineView.ROWS:
        raise invalid((ROWS_KEPT,))
    if key is not None and not record:
        raise invalid((UNRECORDED,))
    body = lines_of_body(with_.batch)
    note(lines=body.ends)
    answers = _Answers(with_, body, recorded=record, key=key, view=view)
    response = Response(answers.lines(), mimetype=form)
    response.call_on_close(body.file.close)  # also when nothing of it is ever sent
    response.headers["X-Accel-Buffering"] = "no"  # a proxy must not wait for the end
    return response


OUTCOMES: Final = MappingProxyType(
    {DecidedLine: "decided", RefusedLine: "refused", ReplayedLine: "replayed"}
)


def key_of_line(key: str, number: int) -> str:
    """The key of one line of a batch; no caller can send it, since it has spaces."""
    return f"batch {digest(key.encode())} {number}"


class _Answers:
    """The lines of an answer, made while they are sent: after the request, so it keeps its ids."""

    def __init__(
        self, with_: Collaborators, body: Body, *, recorded: bool, key: str | None, view: LineView
    ) -> None:
        self._with, self._body, self._recorded, self._key = with_, body, recorded, key
        self._view = view
        self._caller = caller_name()
        self._claims: dict[int, Reservation] = {}  # of lines that are on their way
        self._told_of = partial(
            document_of, base=base(), instance=request.path, request_id=g.request_id
        )

    def lines(self) -> Iterator[bytes]:
        """A line for each line, then the one that says that they are all."""
        begun_s, outcome = time.monotonic(), "broken_off"
        until_s = begun_s + self._with.batch.seconds
        count = 0
        try:
            with self._body.file, closing(self._results()) as results:  # hanging up ends the work
                for asked, result in results:
                    if time.monotonic() > until_s:
                        outcome = "late"
                        yield self._problem(asked, result.ref, self._late(asked))
                        return
                    yield self._line(asked, result)
                    count += 1
            outcome = "whole"
            yield write_json(EndOfLines(end=True, count=count))
        finally:
            self._with.metrics.batch(outcome, seconds=time.monotonic() - begun_s)
            for number in tuple(self._claims):
                self._give_back(number)

    def _results(self) -> Generator[tuple[AskedLine, Result], None, None]:
        with_, body = self._with, self._body
        crew = with_.crew if body.ends >= SMALL else None
        return decide_many(self._asked(), engine=with_.engine, crew=crew)

    def _asked(self) -> Iterator[AskedLine]:
        for line in read_lines(self._body.file, longest=self._with.batch.line_bytes):
            number, content = line.number, line.content
            if not self._recorded or content is None:
                yield AskedLine(number=number, content=content, view=self._view)
            elif self._key is None:
                yield AskedLine(number=number, content=content, identity=self._identity())
            else:
                yield self._claimed(number, content, key_of_line(self._key, number))

    def _claimed(self, number: int, content: bytes, key: str) -> AskedLine:
        """A line whose key is taken now, or that is settled, since it had been taken before."""
        at, asked = self._with.clock(), partial(AskedLine, number=number, content=content)
        try:
            claim = self._with.log.reserve(
                key=key, request=content, decision_id=self._identity(), at=at
            )
        except Exception as error:
            return asked(settled=refused_by(error))
        if isinstance(claim, Replay):
            return asked(settled=ReplayedLine(identity=claim.record.decision_id))
        self._claims[number] = claim
        return asked(identity=claim.decision_id)

    def _identity(self) -> str:
        return decision_id(at=self._with.clock(), random=self._with.entropy(RANDOM_BYTES))

    def _line(self, asked: AskedLine, result: Result) -> bytes:
        self._with.metrics.line(OUTCOMES[type(result)])
        match result:
            case RefusedLine():
                self._give_back(asked.number)  # what came to nothing may be sent again
                kind = BY_SLUG[result.slug]
                problem = Problem(kind, result.detail, faults=result.faults)
                return self._problem(asked, result.ref, problem)
            case ReplayedLine():
                return self._kept(asked, result, lambda: self._found(result))
            case DecidedLine():
                self._with.metrics.decided(result.tally)
                if not self._recorded:
                    return _begun(asked, result.ref, result.response)
                return self._kept(asked, result, lambda: self._record(asked, result))
            case _:
                assert_never(result)

    def _kept(self, asked: AskedLine, result: Result, response: Callable[[], bytes]) -> bytes:
        """The line of what the store has, or why it does not have it."""
        try:
            return _begun(asked, result.ref, response())
        except Exception as error:
            self._give_back(asked.number)
            return self._problem(asked, result.ref, problem_of(error))

    def _record(self, asked: AskedLine, decided: DecidedLine) -> bytes:
        recorded = self._with.log.record(
            self._draft(asked, decided), self._claims.get(asked.number)
        )
        self._claims.pop(asked.number, None)
        return recorded.response

    def _found(self, replayed: ReplayedLine) -> bytes:
        return known(self._with.log.find(replayed.identity)).response

    def _give_back(self, number: int) -> None:
        claim = self._claims.pop(number, None)
        if claim is not None:
            with suppress(StoreUnavailable):  # it lapses by itself
                self._with.log.release(claim)

    def _draft(self, asked: AskedLine, decided: DecidedLine) -> Draft:
        return Draft(
            decision_id=str(asked.identity),
            flight_id=decided.flight_id,
            as_of=decided.as_of,
            verdict=decided.verdict,
            created_at=self._with.clock(),
            request=decided.request,
            response=decided.response,
            whole=decided.whole,
            caller=self._caller,
        )

    def _problem(self, asked: AskedLine, ref: str | None, problem: Problem) -> bytes:
        return _begun(asked, ref, write_json(self._told_of(problem)))

    def _late(self, asked: AskedLine) -> Problem:
        seconds = self._with.batch.seconds
        detail = f"After {seconds} s line {asked.number} and those after it are not decided."
        return Problem(UNAVAILABLE, detail)


def _begun(asked: AskedLine, ref: str | None, content: bytes) -> bytes:
    """An object as it is by itself, after the line that it answers and its ref."""
    beginning = write_json({"line": asked.number, "ref": ref})
    return beginning.rstrip()[:-1] + b"," + content[1:]
