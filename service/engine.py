"""What the service asks of `decision`, as one value that `create_app` is given."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from decision.answer import plain
from decision.answer.reading import as_sent
from decision.brief import brief
from decision.case import Lack, Library, case_from_mapping, installed_library, lacking
from decision.decide.work import Work
from decision.recommend import recommend_answer, recommend_mapping, recommend_row
from service.bounds import limit_of

Answer = Mapping[str, object]
Body = Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The verbs: decide a request body, put an answer into words, say what reports it lacks.

    `decide`: with what the body asks to include; `whole`: with all that was computed. `sent`: of a
    whole answer what was asked for. `brief`: of a whole answer. `row`: the figures alone.
    """

    decide: Callable[[Body], Answer]
    whole: Callable[[Body], Answer]
    sent: Callable[[Answer], Answer]
    brief: Callable[[Answer], str]
    row: Callable[[Body], Answer]
    lacking: Callable[[Body], Sequence[Lack] | None] = lambda _body: None


def installed_engine(library: Library | None = None, *, seconds: float = math.inf) -> Engine:
    """The engine of this installation; its data is loaded here, so that a fault shows at start.

    `seconds`: of processor time that a decision may take; it then raises Overtime.
    Raises: DataError when a data file is wrong.
    """
    shelf = installed_library() if library is None else library

    def decide(body: Body) -> Answer:
        work = Work(limit_of(seconds))
        return recommend_mapping(case_from_mapping(body, library=shelf), work=work)

    def whole(body: Body) -> Answer:
        work = Work(limit_of(seconds))
        case = case_from_mapping(body, library=shelf)
        return plain(recommend_answer(case, whole=True, work=work))

    def row(body: Body) -> Answer:
        work = Work(limit_of(seconds))
        return recommend_row(case_from_mapping(body, library=shelf), work=work)

    def lacks(body: Body) -> Sequence[Lack] | None:
        return lacking(case_from_mapping(body, library=shelf))

    return Engine(decide=decide, whole=whole, sent=as_sent, brief=brief, row=row, lacking=lacks)
