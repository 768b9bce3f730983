"""`/v1/sweeps`: many flights times many failures, a row a line."""

from __future__ import annotations

import math
import time
from collections.abc import Generator, Iterator
from contextlib import closing
from functools import partial
from http import HTTPStatus
from typing import Annotated, Final

from flask import Response, g, request
from msgspec import to_builtins

from decision.case.demos import installed_demos
from decision.case.derive import record_of
from decision.fields import about
from decision.sweep import FlightSummary, SweepAsked, SweepRow
from service.address import Address
from service.collaborators import Collaborators
from service.jsontext import write_json
from service.negotiation import JSON_LINES
from service.problems import BY_SLUG, UNAVAILABLE, Problem, ProblemDocument, base, document_of
from service.resources.batch import EndOfLines
from service.scopes import Scope
from service.sweeps.flights import FlightsSwept, lines_of
from service.sweeps.part import SweepPart, SweptPart, decide_part, parts_of

FLIGHT: Final = {each.name: each for each in installed_demos()}["clean"].request()
FEW_ROWS: Final = 64  # are decided here before other processes would have started


class ProblemOfFlight(ProblemDocument, frozen=True, kw_only=True, gc=False):
    """What a flight gets that is no case."""

    flight: Annotated[int, about("Number of the flight in the request, from 0.", low=0)]


@Address(
    "POST",
    "/v1/sweeps",
    tag="decisions",
    scope=Scope.DECIDE,
    summary="Ask many flights with failures that have not happened; a row a line, then summaries.",
    description="Each row is what a batch tells of the same case with these failures besides, and"
    " whether a diversion would be left. `from_minute`: after how many minutes of continuing, on"
    " the way that the flight's own decision says, none would be left any more, found by halving;"
    " what is carried so far is a supposition, and so it is not held against it. A flight that is"
    " no case gets a problem in place of its rows. After the rows comes a summary of each flight,"
    " those first that would be without a diversion soonest; the last line is"
    ' `{"end": true, "count": n}`, an answer without it is not whole. Nothing is fetched or'
    " recorded.",
    body=record_of(SweepAsked),
    example={"flights": [FLIGHT], "failures": [{"id": "hydraulic-1"}], "from_minute": True},
    answers=(SweepRow, ProblemOfFlight, FlightSummary, EndOfLines),
    forms=JSON_LINES,
    successes={HTTPStatus.OK: "The lines, sent as they are decided."},
    raises=(UNAVAILABLE,),
)
def sweep(with_: Collaborators, form: str, asked: SweepAsked) -> Response:
    """A row for each flight, shift and failure."""
    answer = _Lines(with_, asked)
    response = Response(answer.lines(), mimetype=form)
    response.headers["X-Accel-Buffering"] = "no"  # a proxy must not wait for the end
    return response


class _Lines:
    """The lines of an answer, made while they are sent: after the request, so it keeps its ids."""

    def __init__(self, with_: Collaborators, asked: SweepAsked) -> None:
        self._with, self._asked = with_, asked
        self._told_of = partial(
            document_of, base=base(), instance=request.path, request_id=g.request_id
        )

    def lines(self) -> Iterator[bytes]:
        """Rows, summaries, and the line that says that they are all."""
        begun_s, outcome = time.monotonic(), "broken_off"
        flights, count = FlightsSwept(), 0
        try:
            with closing(self._done()) as results:  # hanging up ends the work
                for part, done in results:
                    if time.monotonic() > begun_s + self._with.batch.seconds:
                        outcome = "late"
                        yield self._problem(part, self._late(part))
                        return
                    flights.take(part, done)
                    count += done.count + (done.refused is not None)
                    yield done.lines or self._refused(part, done)
            for line in lines_of(flights.summaries()):
                count += 1
                yield line
            outcome = "whole"
            yield write_json(EndOfLines(end=True, count=count))
        finally:
            self._with.metrics.batch(outcome, seconds=time.monotonic() - begun_s)

    def _done(self) -> Generator[tuple[SweepPart, SweptPart], None, None]:
        crew = self._with.crew
        loaded = None if crew is None else crew.aerodromes
        library = self._with.library
        parts = parts_of(self._asked.flights, self._asked, library=library, loaded=loaded)
        seconds = math.inf if crew is None else crew.decision_cpu_s
        work = partial(decide_part, seconds=seconds, library=library)
        if crew is None or self._is_small():
            for part in parts:
                yield part, work(part)
        else:
            yield from crew.run(partial(decide_part, seconds=seconds), parts, here=work)

    def _is_small(self) -> bool:
        """Whether it is done before other processes would have begun: few failures are named."""
        asked = self._asked
        named = len(asked.failures) ** (2 if asked.pairs else 1)
        rows = len(asked.flights) * (named + asked.as_it_is) * (1 + len(asked.shifts))
        return named > 0 and rows <= FEW_ROWS and not asked.from_minute

    def _refused(self, part: SweepPart, done: SweptPart) -> bytes:
        """Why a flight has no rows."""
        refused = done.refused
        if refused is None:  # nothing was asked of it that it does not have already
            return b""
        kind = BY_SLUG[refused.slug]
        return self._problem(part, Problem(kind, refused.detail, faults=refused.faults))

    def _problem(self, part: SweepPart, problem: Problem) -> bytes:
        return write_json({"flight": part.flight, **to_builtins(self._told_of(problem))})

    def _late(self, part: SweepPart) -> Problem:
        seconds = self._with.batch.seconds
        detail = f"After {seconds} s flight {part.flight} and those after it are not swept."
        return Problem(UNAVAILABLE, detail)
