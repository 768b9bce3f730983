"""What the service asks of `decision`, as one value that `create_app` is given."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import msgspec

from decision.answer import Answer as Published
from decision.answer import plain
from decision.answer.reading import as_sent
from decision.brief import brief
from decision.case import Lack, Library, case_from_mapping, installed_library, lacking, written_out
from decision.decide.work import Work
from decision.recommend import recommend_answer, recommend_row, recommend_tried
from service.bounds import limit_of
from service.jsontext import shown, write_json
from service.metrics import Tally, tally_of_told

Answer = Mapping[str, object]
Body = Mapping[str, object]
Tried = tuple[Answer, Sequence[Answer]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """An answer as it is sent, and what is noted of it."""

    content: bytes
    flight_id: str
    as_of: str
    verdict: str
    tally: Tally


def told_of(answer: Answer, tally: Tally) -> Told:
    """An answer in plain data, as it is sent."""
    return Told(
        content=write_json(answer),
        flight_id=str(answer["flight_id"]),
        as_of=str(answer["as_of"]),
        verdict=str(answer["verdict"]),
        tally=tally,
    )


def told_at_once(answer: Published) -> Told:
    """The same bytes, written by its types: half of the work is not to make plain data of it."""
    return Told(
        content=shown(msgspec.json.encode(answer) + b"\n"),
        flight_id=answer.flight_id,
        as_of=msgspec.to_builtins(answer.as_of),
        verdict=answer.verdict,
        tally=tally_of_told(answer),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The verbs: decide a request body, put an answer into words, say what reports it lacks.

    `decide`: with what the body asks to include, not recorded; `whole`: with all that was computed.
    `sent`: of a whole answer what was asked for. `brief`: of a whole answer. `row`: the figures
    alone. `tried`: those, and with inputs at other values, and where inputs turn it.
    `written_out`: the body with the alternates that it asks to be proposed, which is what is kept.
    """

    decide: Callable[[Body], Told]
    whole: Callable[[Body], Answer]
    sent: Callable[[Answer], Answer]
    brief: Callable[[Answer], str]
    row: Callable[[Body], Answer]
    tried: Callable[[Body, Sequence[Mapping[str, float]], Sequence[str]], Tried]
    lacking: Callable[[Body], Sequence[Lack] | None] = lambda _body: None
    written_out: Callable[[Body], Body] = lambda body: body


def installed_engine(library: Library | None = None, *, seconds: float = math.inf) -> Engine:
    """The engine of this installation; its data is loaded here, so that a fault shows at start.

    `seconds`: of processor time that a decision may take; it then raises Overtime.
    Raises: DataError when a data file is wrong.
    """
    shelf = installed_library() if library is None else library

    def decide(body: Body) -> Told:
        work = Work(limit_of(seconds))
        return told_at_once(recommend_answer(case_from_mapping(body, library=shelf), work=work))

    def whole(body: Body) -> Answer:
        work = Work(limit_of(seconds))
        case = case_from_mapping(body, library=shelf)
        return plain(recommend_answer(case, whole=True, work=work))

    def row(body: Body) -> Answer:
        work = Work(limit_of(seconds))
        return recommend_row(case_from_mapping(body, library=shelf), work=work)

    def tried(body: Body, inputs: Sequence[Mapping[str, float]], turns_of: Sequence[str]) -> Tried:
        case, work = case_from_mapping(body, library=shelf), Work(limit_of(seconds))
        return recommend_tried(case, inputs, turns_of=turns_of, work=work)

    def lacks(body: Body) -> Sequence[Lack] | None:
        return lacking(case_from_mapping(body, library=shelf))

    return Engine(
        decide=decide,
        whole=whole,
        sent=as_sent,
        brief=brief,
        row=row,
        tried=tried,
        lacking=lacks,
        written_out=partial(written_out, library=shelf),
    )
