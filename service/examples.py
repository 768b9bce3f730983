"""Examples of answers for the API document: what the application says when it is asked.

An application of its own, with a store that is thrown away, is sent demo cases, the bodies that the
addresses show, and requests that are wrong. Its clock stands a few seconds after the moment that
the cases are decided for, and its ids have nothing of chance in them: while code and data are the
same, so are the examples. Figures have nine digits, since machines differ in the last ones.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from http import HTTPStatus
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any, Final
from urllib.parse import quote

import orjson
from flask.testing import FlaskClient
from msgspec import to_builtins
from werkzeug.test import TestResponse

from decision.case.demos import installed_demos
from decision.errors import OutOfRange
from service.address import PATH_PARAMETER, View
from service.app import create_app
from service.door.opening import opened_access
from service.identifiers import RANDOM_BYTES, decision_id
from service.incoming import KEY_HEADER
from service.metrics import CONTENT_TYPE
from service.negotiation import JSON, JSON_LINES, TEXT
from service.observing import REQUEST_ID_BYTES
from service.problems import (
    CONFLICT,
    INVALID,
    KEY_REUSED,
    MEDIA,
    METHOD,
    NOT_ACCEPTABLE,
    NOT_FOUND,
    NOT_JSON,
    OUT_OF_RANGE,
    PROBLEM_TYPES,
    TOO_LARGE,
    Problem,
    ProblemDocument,
    ProblemType,
    document_of,
    problem_of,
)
from service.resources import VIEWS
from service.resources.sessions import NOBODYS_KEY
from service.scopes import Scope
from service.settings import Settings, settings_from
from service.store import DecisionLog, SqlDecisionLog
from service.store.access import NewKey

PUBLIC: Final = "https://approach.example"  # a name that is kept free for examples
BEFORE, SHOWN, SMALL = "clean", "gear-stuck", "no-alternate"  # the demo cases that are decided
DEMOS: Final = MappingProxyType({each.name: each.request() for each in installed_demos()})
FIRST_AT: Final = datetime(2026, 3, 14, 6, 10, 5, tzinfo=UTC)
SHOWN_AT: Final = FIRST_AT + timedelta(minutes=2)
AGAIN_AT: Final = SHOWN_AT + timedelta(minutes=3)
SHOWN_ID: Final = decision_id(at=SHOWN_AT, random=bytes(RANDOM_BYTES))
DECISIONS: Final = "/v1/decisions"
INCLUDED: Final = ("flip_points", "uncertainty", "steps", "findings")
KEY: Final = "example-1"
RUNNING_KEY: Final = "example-2"
AGAIN_KEY: Final = "example-3"
DIGITS: Final = 9
FORMS: Final = (JSON, TEXT, *JSON_LINES)  # a page or a drawing is looked at where it is
ITSELF: Final = "openapi"  # the document cannot hold itself
GIVEN: Final = MappingProxyType(  # what stands in the braces of an address
    {
        "readDecision": {"id": SHOWN_ID},
        "readRequest": {"id": SHOWN_ID},
        "readFindings": {"id": SHOWN_ID},
        "readCourse": {"id": SHOWN_ID, "course": "divert_now:XTOR"},
        "readWeather": {"id": SHOWN_ID},
        "decideAgain": {"id": SHOWN_ID},
        "whatIf": {"id": SHOWN_ID},
        "readWatch": {"id": SHOWN_ID},  # made at the same moment, of the same chance
        "giveState": {"id": SHOWN_ID},
        "endWatch": {"id": SHOWN_ID},
        "flightHistory": {"flight_id": "VENTO 318"},
        "profile": {"id": "xtj150"},
        "rulebook": {"id": "icao"},
        "aerodrome": {"icao": "XMON"},
        "aboutProblem": {"slug": CONFLICT.slug},
    }
)
FIRST: Final = MappingProxyType(  # a long member of an answer, and how much of it is shown
    {
        "readFindings": ("findings", 6),
        "decideAgain": ("courses", 2),
        "profile": ("failures", 4),
        "rulebook": ("rows", 4),
        "demos": ("demos", 1),
        "home": ("links", 4),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A value with a name that is unique in the document; `whole` is uncut."""

    name: str
    summary: str
    value: Any
    whole: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Examples:
    """What is shown of answers, by operation, status and media type; of problems, by type.

    `decisions`: answers to the other demo cases, of which single members are shown.
    """

    answers: Mapping[tuple[str, int, str], Example]
    problems: Mapping[str, Example]
    decisions: Sequence[Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sent:
    """A request, but for its address."""

    query: Mapping[str, str] = field(default_factory=dict)
    body: bytes | None = None
    media: str | None = JSON
    headers: Mapping[str, str] = field(default_factory=dict)


@cache
def examples() -> Examples:
    """An example of every answer, of each address in every form that is text.

    Raises: ValueError where an address does not answer as it is declared.
    """
    with TemporaryDirectory() as folder:
        address = f"sqlite:///{Path(folder) / 'examples.sqlite3'}"
        settings = settings_from(
            {"APPROACH_STORE": address, "APPROACH_PUBLIC_ADDRESS": PUBLIC}
            | {"APPROACH_BATCH_PROCESSES": "1"}
        )
        log = SqlDecisionLog.open(address, timeout_s=settings.store_timeout_s)
        try:
            return _made(settings, log)
        finally:
            log.close()


def request_examples() -> dict[str, Example]:
    """The demo cases by name."""
    return {
        each.name: Example(name=each.name, summary=each.title, value=case, whole=case)
        for each in installed_demos()
        for case in (each.request(),)
    }


class _Clock:
    """A clock that stands where it is put."""

    def __init__(self) -> None:
        self.at = FIRST_AT

    def __call__(self) -> datetime:
        return self.at


def _made(settings: Settings, log: DecisionLog) -> Examples:
    clock = _Clock()
    _keep_nobodys_key(settings, clock())
    client = create_app(settings, clock=clock, entropy=bytes, log=log).test_client()
    _answer(client, "POST", DECISIONS, _Sent(body=_json(DEMOS[BEFORE])), accept=JSON)
    clock.at = SHOWN_AT
    log.reserve(key=RUNNING_KEY, request=_json(DEMOS[SHOWN]), decision_id=KEY, at=SHOWN_AT)
    told = {_comparable(each.value): each for each in request_examples().values()}
    answers = {}
    for view in VIEWS:
        clock.at = AGAIN_AT if view.id == "decideAgain" else SHOWN_AT
        for key, example in _of_view(view, client):  # what is the same is shown once
            answers[key] = told.setdefault(_comparable(example.value), example)
    return Examples(
        answers=answers,
        problems=dict(_problems(client, settings)),
        decisions=tuple(_decisions(client)),
    )


def _keep_nobodys_key(settings: Settings, at: datetime) -> None:
    """Keep the key that is shown, in the store that is thrown away."""
    access = opened_access(settings)
    scopes = frozenset({Scope.DECIDE, Scope.READ})
    shown = NewKey(
        identifier=NOBODYS_KEY.identifier, name=SHOWN, scopes=scopes, digest=NOBODYS_KEY.digest
    )
    access.create(shown, by=SHOWN, at=at)
    access.close()


def _decisions(client: FlaskClient) -> Iterator[Any]:
    """One case with all that can be included, then every other as it is."""
    more = {"include": INCLUDED, "compare_rulebooks": True}
    for name, case in DEMOS.items():
        body = _json(case | more if name == SHOWN else case)
        sent = _Sent(query={"record": "false"}, body=body)
        yield _told(_answer(client, "POST", DECISIONS, sent, accept=JSON).get_json())


def _of_view(view: View, client: FlaskClient) -> Iterator[tuple[tuple[str, int, str], Example]]:
    for form in () if view.id == ITSELF else view.address.forms:
        for sent in _requests(view, form) if form in FORMS else ():
            answer = _answer(client, view.address.method, _path(view), sent, accept=form)
            yield (view.id, answer.status_code, form), _example(view, answer, form)


def _path(view: View) -> str:
    """The path of a view with what stands in its braces. Raises: ValueError if that is not said."""
    given = GIVEN.get(view.id, {})
    lacking = set(PATH_PARAMETER.findall(view.address.path)) - given.keys()
    if lacking:
        raise ValueError(f"{view.id}: GIVEN does not say {', '.join(sorted(lacking))}")
    return view.address.template.format_map({name: quote(each) for name, each in given.items()})


def _requests(view: View, form: str) -> Sequence[_Sent]:
    """What an address is sent, once for each status that it may have."""
    match view.id:
        case "decide":
            unrecorded = _Sent(query={"record": "false"}, body=_json(DEMOS[SMALL]))
            return _Sent(body=_json(DEMOS[SHOWN]), headers={KEY_HEADER: KEY}), unrecorded
        case "decideAgain":
            return (_Sent(body=_json(view.address.example), headers={KEY_HEADER: AGAIN_KEY}),)
        case "decideBatch":
            lines = [DEMOS[SMALL] | {"ref": "first"}, {"flight_id": "GANNET 9", "ref": "second"}]
            return (_Sent(body=b"\n".join(map(_json, lines)), media=form),)
        case "signOut":
            return (_Sent(headers={"Origin": PUBLIC}),)
        case _:
            example = view.address.example
            return (_Sent() if example is None else _Sent(body=_json(example)),)


def _answer(
    client: FlaskClient, method: str, path: str, sent: _Sent, *, accept: str
) -> TestResponse:
    return client.open(
        path,
        method=method,
        query_string=sent.query,
        data=sent.body,
        content_type=None if sent.body is None else sent.media,
        headers={"Accept": accept, **sent.headers},
    )


def _example(view: View, answer: TestResponse, form: str) -> Example:
    status = answer.status_code
    if status not in view.address.successes:
        raise ValueError(f"{view.id} answers {status}: {answer.text}")
    summary = view.address.successes[HTTPStatus(status)]
    name = f"{view.id}-{status}"
    if form != JSON:
        name, text = f"{name}-{'text' if form == TEXT else 'lines'}", _text(answer)
        return Example(name=name, summary=summary, value=text, whole=text)
    whole = value = _told(answer.get_json())
    if view.id in FIRST:
        member, count = FIRST[view.id]
        value = whole | {member: _first(whole[member], count)}
        summary = f"{summary} Here with the first of `{member}` only."
    return Example(name=name, summary=summary, value=value, whole=whole)


def _text(answer: TestResponse) -> str:
    """The text; of metrics, which tell how fast this machine was, what they are."""
    if answer.content_type != CONTENT_TYPE:
        return answer.text
    return "".join(line for line in answer.text.splitlines(keepends=True) if line[0] == "#")


def _first(members: Any, count: int) -> Any:  # noqa: ANN401  # a list or an object of JSON
    if isinstance(members, list):
        return members[:count]
    return dict(islice(members.items(), count))


def _told(value: Any) -> Any:  # noqa: ANN401  # any JSON value
    match value:
        case float():
            return float(f"{value:.{DIGITS}g}")
        case list():
            return [_told(each) for each in value]
        case dict():
            return {name: _told(each) for name, each in value.items()}
        case _:
            return value


# --- problems -----------------------------------------------------------------------------------


def _problems(client: FlaskClient, settings: Settings) -> Iterator[tuple[str, Example]]:
    """A problem of each kind: of those that a wrong request can have, what one has."""
    refused = _refused(settings)
    for kind in PROBLEM_TYPES:
        if kind.slug in refused:
            method, path, sent, accept = refused[kind.slug]
            answer = _answer(client, method, path, sent, accept=accept).get_json(force=True)
            if answer["title"] != kind.title:
                raise ValueError(f"{kind.slug}: {method} {path} answers {answer}")
        else:
            answer = to_builtins(_document(kind))
        yield (
            kind.slug,
            Example(name=f"problem-{kind.slug}", summary=kind.title, value=answer, whole=answer),
        )


def _refused(settings: Settings) -> Mapping[str, tuple[str, str, _Sent, str]]:
    """By problem a request that has it."""
    case, path = DEMOS[SHOWN], DECISIONS
    faulty = case | {"fuel": {"on_board_kg": -1}, "wether": case["weather"]}
    del faulty["destination"]
    sent = {
        INVALID: _Sent(body=_json(faulty)),
        NOT_JSON: _Sent(body=b'{"flight_id": VENTO 318}'),
        MEDIA: _Sent(body=_json(case), media="text/csv"),
        TOO_LARGE: _Sent(body=bytes(settings.max_body_bytes + 1)),
        KEY_REUSED: _Sent(body=_json(DEMOS[SMALL]), headers={KEY_HEADER: KEY}),
        CONFLICT: _Sent(body=_json(case), headers={KEY_HEADER: RUNNING_KEY}),
    }
    absent = decision_id(at=FIRST_AT - timedelta(days=1), random=bytes(RANDOM_BYTES))
    return {
        **{kind.slug: ("POST", path, each, JSON) for kind, each in sent.items()},
        NOT_FOUND.slug: ("GET", f"{path}/{absent}", _Sent(), JSON),
        NOT_ACCEPTABLE.slug: ("GET", "/v1/profiles", _Sent(), "image/png"),
        METHOD.slug: ("DELETE", path, _Sent(), JSON),
    }


def _document(kind: ProblemType) -> ProblemDocument:
    """A problem that no request brings about by itself."""
    problem = Problem(kind, kind.meaning)
    if kind is OUT_OF_RANGE:
        problem = problem_of(OutOfRange("mach", 0.9, low=0.2, high=0.82))
    request_id = bytes(REQUEST_ID_BYTES).hex()
    return document_of(problem, base=PUBLIC, instance=DECISIONS, request_id=request_id)


def _json(value: object) -> bytes:
    return orjson.dumps(value)


def _comparable(value: object) -> bytes:
    return orjson.dumps(value, option=orjson.OPT_SORT_KEYS)
