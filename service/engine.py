"""What the service asks of `decision`, as one value that `create_app` is given."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from decision.brief import brief
from decision.case import Lack, Library, case_from_mapping, installed_library, lacking
from decision.recommend import recommend_mapping

Answer = Mapping[str, object]
Body = Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """The verbs: decide a request body, put an answer into words, say what reports it lacks."""

    decide: Callable[[Body], Answer]
    brief: Callable[[Answer], str]
    lacking: Callable[[Body], Sequence[Lack] | None] = lambda _body: None


def installed_engine(library: Library | None = None) -> Engine:
    """The engine of this installation; its data is loaded here, so that a fault shows at start.

    Raises: DataError when a data file is wrong.
    """
    shelf = installed_library() if library is None else library

    def decide(body: Body) -> Answer:
        return recommend_mapping(case_from_mapping(body, library=shelf))

    def lacks(body: Body) -> Sequence[Lack] | None:
        return lacking(case_from_mapping(body, library=shelf))

    return Engine(decide=decide, brief=brief, lacking=lacks)
