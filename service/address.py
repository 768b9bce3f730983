"""An address of the service, declared in one place: at its view.

    @Address("GET", "/v1/flights/<path:flight_id>/decisions", scope=Scope.READ, ...)
    def history(with_: Collaborators, flight_id: FlightId, limit: Limit = 20) -> History: ...

The signature says what the view is given. `with_`: the collaborators; `views`: every view of the
service; `form`: the media type that was agreed on; `body`: the request body, checked, as it was
sent; `asked`: the question that it is the body of; `key`: the Idempotency-Key. Any other name is a
parameter of the path or, when the path does not have it, of the query; its type says what is
accepted and what it means. The return type, a published type, is the answer. Routing, the check of
a request, the API document and the tables of routes are made from this.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Mapping
from dataclasses import KW_ONLY, dataclass, field
from functools import cached_property
from http import HTTPStatus
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin, get_type_hints

import msgspec
from msgspec import Struct

from decision.case.spec import RecordSpec
from decision.fields import sized
from service.negotiation import JSON
from service.problems import (
    FOREIGN_ORIGIN,
    INTERNAL,
    INVALID,
    MEDIA,
    NO_KEY,
    NOT_ACCEPTABLE,
    NOT_JSON,
    SCOPE_LACKING,
    TOO_LARGE,
    TOO_OFTEN,
    UNAVAILABLE,
    UNKNOWN_HOST,
    ProblemType,
)
from service.scopes import Scope

Answer = type | RecordSpec
GIVEN: Final = frozenset({"with_", "views", "form", "body", "asked", "key", "return"})
PATH_PARAMETER: Final = re.compile(r"<(?:\w+:)?(\w+)>")
OF_ANY: Final = (INVALID, NOT_ACCEPTABLE, UNKNOWN_HOST, INTERNAL)
OF_A_KEY: Final = (NO_KEY, SCOPE_LACKING, TOO_OFTEN, UNAVAILABLE)  # whose keys the store has
OF_A_BODY: Final = (NOT_JSON, TOO_LARGE, MEDIA)
OF_A_FORM: Final = (TOO_LARGE, MEDIA)


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A parameter outside the body; without a default it is required."""

    name: str
    where: str
    kind: object
    required: bool
    default: object = None

    @property
    def schema(self) -> dict[str, Any]:
        """The JSON Schema of its value, its meaning in it."""
        made = msgspec.json.schema(self.kind)
        for schema in made.pop("$defs", {}).values():  # of an enumeration: told here, not apart
            made |= {"type": "string", "enum": schema["enum"]}
            del made["$ref"]
        return made if self.default is None else made | {"default": self.default}


IF_NONE_MATCH: Final = Parameter(
    name="If-None-Match",
    where="header",
    kind=Annotated[str, sized("An ETag; the answer is 304 while it still holds.")],
    required=False,
)
ETAG: Final = {"ETag": "SHA-256 of the bytes, with a suffix where they are packed."}
KNOWN: Final = "The ETag given still holds."


@dataclass(frozen=True, slots=True)
class Address:
    """One method at one address: a decorator of the view that answers there.

    What a GET answers has an ETag and can be asked for again, unless it is `of_the_moment`.
    """

    method: str
    path: str
    _: KW_ONLY
    tag: str
    scope: Scope  # without a default: no address without a word about who may call it
    summary: str
    successes: Mapping[HTTPStatus, str]
    description: str = ""
    answers: tuple[Answer, ...] = ()  # where the view does not return a published type
    body: RecordSpec | None = None
    line: RecordSpec | None = None  # of a body that has one on each line
    filled_in: RecordSpec | None = None  # of a body that the form of a page sends
    example: Mapping[str, Any] | None = None
    headers: tuple[Parameter, ...] = ()
    sends: Mapping[HTTPStatus, Mapping[str, str]] = field(default_factory=dict)
    forms: tuple[str, ...] = (JSON,)
    raises: tuple[ProblemType, ...] = ()  # besides those that every address has
    of_the_moment: bool = False

    def __post_init__(self) -> None:
        if not self.is_had_again:
            return
        sends = {**self.sends, HTTPStatus.OK: {**self.sends.get(HTTPStatus.OK, {}), **ETAG}}
        for name, value in (
            ("headers", (*self.headers, IF_NONE_MATCH)),
            ("successes", {**self.successes, HTTPStatus.NOT_MODIFIED: KNOWN}),
            ("sends", sends),
        ):
            object.__setattr__(self, name, value)

    @property
    def is_had_again(self) -> bool:
        """Whether a caller may keep the answer and ask whether it still holds."""
        return self.method == "GET" and not self.of_the_moment

    def __call__(self, function: Callable[..., object]) -> View:
        """The view at this address."""
        return View(address=self, function=function)

    @property
    def template(self) -> str:
        """The path as the API document writes it."""
        return PATH_PARAMETER.sub(r"{\1}", self.path)

    @property
    def problems(self) -> tuple[ProblemType, ...]:
        """Every type of problem that it may answer with."""
        has_body = self.body is not None or self.line is not None
        told = (
            *OF_ANY,
            *(OF_A_KEY if self.scope is not Scope.OPEN else ()),
            *((FOREIGN_ORIGIN,) if self.changes and self.scope is not Scope.OPEN else ()),
            *(OF_A_BODY if has_body else ()),
            *(OF_A_FORM if self.filled_in is not None else ()),
            *self.raises,
        )
        return tuple(dict.fromkeys(told))

    @property
    def changes(self) -> bool:
        """Whether a browser must say from which page it sends this."""
        return self.method != "GET"


@dataclass(frozen=True, kw_only=True)
class View:
    """A function with its address."""

    address: Address
    function: Callable[..., object]

    @property
    def id(self) -> str:
        """The operation's name in the API document: the function's, in its spelling."""
        first, *rest = self.function.__name__.split("_")
        return first + "".join(word.capitalize() for word in rest)

    @cached_property
    def takes(self) -> tuple[str, ...]:
        """Names of what the function is given."""
        return tuple(inspect.signature(self.function).parameters)

    @cached_property
    def parameters(self) -> tuple[Parameter, ...]:
        """Those of the path and of the query, in the function's order, then the headers."""
        kinds = get_type_hints(self.function, include_extras=True)
        in_path = PATH_PARAMETER.findall(self.address.path)
        found = (
            Parameter(
                name=parameter_of(each.name),
                where="path" if each.name in in_path else "query",
                kind=_present(kinds[each.name]),
                required=each.default is each.empty,
                default=None if each.default is each.empty else each.default,
            )
            for each in inspect.signature(self.function).parameters.values()
            if each.name not in GIVEN
        )
        return (*found, *self.address.headers)

    @cached_property
    def query(self) -> Mapping[str, Parameter]:
        """The parameters of the query by name."""
        return {each.name: each for each in self.parameters if each.where == "query"}

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The published types of the answer, or the shape of a request that it has as well."""
        told = get_type_hints(self.function, include_extras=True)["return"]
        arms = get_args(told) if get_origin(told) is UnionType else (told,)
        types = (arm for arm in arms if isinstance(arm, type) and issubclass(arm, Struct))
        return tuple(types) or self.address.answers


def parameter_of(name: str) -> str:
    """The parameter that an argument is given; `from_` has a name that Python keeps for itself."""
    return name if name in GIVEN else name.removesuffix("_")


def _present(kind: object) -> object:
    """A type without its None: what is absent is not sent."""
    if get_origin(kind) in (Union, UnionType):
        (present,) = (arm for arm in get_args(kind) if arm is not NoneType)
        return present
    return kind
