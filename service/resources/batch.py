"""`/v1/decisions/batch`: a case a line, an answer a line.

Each line of the answer is what the case would get by itself: the decision, byte for byte, or a
problem document with the number of the `line`. The status is spent with the first byte, so the
last line says that it is the last: without it the answer is not whole.
"""

from __future__ import annotations

import time
from collections.abc import Generator, Iterator
from contextlib import closing
from functools import partial
from http import HTTPStatus
from typing import Annotated, Final, assert_never

from flask import Response, g, request
from msgspec import Struct
from msgspec.structs import asdict

from decision.answer import Answer
from decision.case import CASE
from decision.errors import Fault
from decision.fields import about
from service.address import Address
from service.collaborators import Collaborators
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import KEY_HEADER
from service.jsontext import write_json
from service.lines import Body, lines_of_body, read_lines
from service.many import Asked, Decided, Refused, Result, decide_many
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
from service.store import Draft, StoreUnavailable

SMALL: Final = 64  # lines; fewer are decided here before other processes would have started
KEYED: Final = Fault(
    pointer=f"{KEY_HEADER}:",
    code="not_in_a_batch",
    message="has no meaning for a batch",
    accepted="no key: record each case by itself to have it made once",
)


class ProblemOfLine(ProblemDocument, frozen=True, kw_only=True, gc=False):
    """What a line gets that is refused."""

    line: Annotated[int, about("Number of the line in the body.", low=1)]


class EndOfLines(Struct, frozen=True, kw_only=True, gc=False):
    """The last line of a whole answer."""

    end: Annotated[bool, about("true: nothing follows.")]
    count: Annotated[int, about("Lines before this one.", low=0)]


@Address(
    "POST",
    "/v1/decisions/batch",
    tag="decisions",
    summary="Decide many cases: one a line in, one a line out, in the same order.",
    description="Each line of the answer is what the case would get by itself: the decision, or"
    " a problem document with the number of its `line` in the body; the others go on. Empty"
    ' lines are passed over. The last line is `{"end": true, "count": n}`; an answer without it'
    " is not whole. Nothing is fetched. The limits on bytes, lines and seconds are settings.",
    line=CASE,
    answers=(Answer, ProblemOfLine, EndOfLines),
    forms=JSON_LINES,
    successes={HTTPStatus.OK: "The lines, sent as they are decided."},
)
def decide_batch(
    with_: Collaborators,
    form: str,
    record: Annotated[
        bool, about("true: record each decision; otherwise their ids are null.")
    ] = False,
) -> Response:
    """A line for each line."""
    if KEY_HEADER in request.headers:
        raise invalid((KEYED,))
    body = lines_of_body(with_.batch)
    note(lines=body.ends)
    response = Response(_Answers(with_, body, recorded=record).lines(), mimetype=form)
    response.call_on_close(body.file.close)  # also when nothing of it is ever sent
    response.headers["X-Accel-Buffering"] = "no"  # a proxy must not wait for the end
    return response


class _Answers:
    """The lines of an answer, made while they are sent: after the request, so it keeps its ids."""

    def __init__(self, with_: Collaborators, body: Body, *, recorded: bool) -> None:
        self._with, self._body, self._recorded = with_, body, recorded
        self._told_of = partial(
            document_of, base=base(), instance=request.path, request_id=g.request_id
        )

    def lines(self) -> Iterator[bytes]:
        """A line for each line, then the one that says that they are all."""
        until_s = time.monotonic() + self._with.batch.seconds
        count = 0
        with self._body.file, closing(self._results()) as results:  # hanging up ends the work
            for asked, result in results:
                if time.monotonic() > until_s:
                    yield self._problem(asked, self._late(asked))
                    return
                yield self._line(asked, result)
                count += 1
        yield write_json(EndOfLines(end=True, count=count))

    def _results(self) -> Generator[tuple[Asked, Result], None, None]:
        with_, body = self._with, self._body
        crew = with_.crew if body.ends >= SMALL else None
        return decide_many(self._asked(), engine=with_.engine, crew=crew)

    def _asked(self) -> Iterator[Asked]:
        for line in read_lines(self._body.file, longest=self._with.batch.line_bytes):
            identity = self._identity() if self._recorded else None
            yield Asked(number=line.number, content=line.content, identity=identity)

    def _identity(self) -> str:
        return decision_id(at=self._with.clock(), random=self._with.entropy(RANDOM_BYTES))

    def _line(self, asked: Asked, result: Result) -> bytes:
        match result:
            case Refused():
                kind = BY_SLUG[result.slug]
                return self._problem(asked, Problem(kind, result.detail, faults=result.faults))
            case Decided():
                self._with.metrics.decided(result.tally)
                return self._recorded_line(asked, result) if self._recorded else result.response
            case _:
                assert_never(result)

    def _recorded_line(self, asked: Asked, decided: Decided) -> bytes:
        try:
            return self._with.log.record(self._draft(asked, decided)).response
        except StoreUnavailable as error:
            return self._problem(asked, problem_of(error))

    def _draft(self, asked: Asked, decided: Decided) -> Draft:
        return Draft(
            decision_id=str(asked.identity),
            flight_id=decided.flight_id,
            as_of=decided.as_of,
            verdict=decided.verdict,
            created_at=self._with.clock(),
            request=asked.content or b"",
            response=decided.response,
            whole=decided.whole,
        )

    def _problem(self, asked: Asked, problem: Problem) -> bytes:
        document = self._told_of(problem)
        return write_json(ProblemOfLine(**asdict(document), line=asked.number))

    def _late(self, asked: Asked) -> Problem:
        seconds = self._with.batch.seconds
        detail = f"After {seconds} s line {asked.number} and those after it are not decided."
        return Problem(UNAVAILABLE, detail)
