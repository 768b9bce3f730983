"""`/v1/decisions/batch`: a case a line, an answer a line.

Each line of the answer is what the case would get by itself: the decision, byte for byte, or a
problem document with the number of the `line`. The status is spent with the first byte, so the
last line says that it is the last: without it the answer is not whole.
"""

from __future__ import annotations

import time
from collections.abc import Generator, Iterator
from contextlib import closing
from typing import Final, assert_never

from flask import Blueprint, Response, g, request

from decision.errors import Fault
from service.collaborators import Collaborators
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import KEY_HEADER, query_flag
from service.jsontext import write_json
from service.lines import Body, lines_of_body, read_lines
from service.many import Asked, Decided, Refused, Result, decide_many
from service.negotiation import JSON_LINES, acceptable
from service.observing import note
from service.problems import BY_SLUG, UNAVAILABLE, Problem, document_of, invalid, problem_of
from service.store import Draft, StoreUnavailable

SMALL: Final = 64  # lines; fewer are decided here before other processes would have started
KEYED: Final = Fault(
    pointer=f"{KEY_HEADER}:",
    code="not_in_a_batch",
    message="has no meaning for a batch",
    accepted="no key: record each case by itself to have it made once",
)


def batch(with_: Collaborators) -> Blueprint:
    """The route of batches."""
    blueprint = Blueprint("batch", __name__)

    @blueprint.post("/v1/decisions/batch")
    def decide_batch() -> Response:
        form = acceptable(JSON_LINES)
        recorded = query_flag("record", default=False)
        if KEY_HEADER in request.headers:
            raise invalid((KEYED,))
        body = lines_of_body(with_.batch)
        note(lines=body.ends)
        response = Response(_Answers(with_, body, recorded=recorded).lines(), mimetype=form)
        response.call_on_close(body.file.close)  # also when nothing of it is ever sent
        response.headers["X-Accel-Buffering"] = "no"  # a proxy must not wait for the end
        return response

    return blueprint


class _Answers:
    """The lines of an answer, made while they are sent: after the request, so it keeps its ids."""

    def __init__(self, with_: Collaborators, body: Body, *, recorded: bool) -> None:
        self._with, self._body, self._recorded = with_, body, recorded
        self._instance, self._request_id = request.path, g.request_id

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
        yield write_json({"end": True, "count": count})

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
        )

    def _problem(self, asked: Asked, problem: Problem) -> bytes:
        document = document_of(problem, instance=self._instance, request_id=self._request_id)
        return write_json({**document, "line": asked.number})

    def _late(self, asked: Asked) -> Problem:
        seconds = self._with.batch.seconds
        detail = f"After {seconds} s line {asked.number} and those after it are not decided."
        return Problem(UNAVAILABLE, detail)
