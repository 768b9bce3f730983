"""JSON in and out: strict reading, finite numbers only, one canonical writer.

orjson refuses NaN, infinities, numbers that overflow and absurd nesting on the way in, but of a
name that is there twice it takes the last; on the way out it would write a non-finite number as
null without a word. Both are refused here.
"""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any, Final

import msgspec
import orjson
from flask.json.provider import DefaultJSONProvider

from decision.case.spec import escape
from decision.errors import Fault, InvalidCase
from decision.legible import DEL, written_out

OBEYED: Final = re.compile(r"[^\x00-\x7e]+")  # or not: below it JSON is already as it should be


class NotJson(Exception):
    """Text that is not JSON: what shows that, and where."""

    def __init__(self, what: str, *, line: int, column: int) -> None:
        self.what, self.line, self.column = what, line, column
        super().__init__(f"{what} (line {line}, column {column})")


class _DoubledName(Exception):
    """Somewhere in a text an object has a name twice."""


class _Pairs(list[tuple[str, object]]):
    """An object as it is written, every name of it."""


def read_sent(content: bytes) -> object:
    """One JSON value that was sent, read strictly.

    Raises: NotJson; InvalidCase when an object has a name twice: which one is meant is not known.
    """
    try:
        value = orjson.loads(content)
        _require_single_names(content)
    except orjson.JSONDecodeError as error:
        raise _not_json(content, error) from None
    except RecursionError:
        raise NotJson("nested too deeply", line=1, column=1) from None
    return value


def _require_single_names(content: bytes) -> None:
    try:
        json.loads(content, object_pairs_hook=_once, parse_int=str)
    except _DoubledName:
        pairs = json.loads(content, object_pairs_hook=_Pairs, parse_int=str)
        raise InvalidCase(tuple(_doubled(pairs, ""))) from None


def _not_json(content: bytes, error: orjson.JSONDecodeError) -> NotJson:
    """The error with its place; orjson has none for what is not UTF-8."""
    try:
        content.decode()
    except UnicodeDecodeError as wrong:
        before = content[: wrong.start]
        column = wrong.start - before.rfind(b"\n")
        return NotJson("not UTF-8", line=before.count(b"\n") + 1, column=column)
    return NotJson(error.msg, line=error.lineno, column=error.colno)


def _once(pairs: list[tuple[str, object]]) -> None:
    if len(dict(pairs)) != len(pairs):
        raise _DoubledName


def _doubled(value: object, pointer: str) -> Iterator[Fault]:
    """A fault for each name that an object has more than once, however deep."""
    match value:
        case _Pairs():
            counts = Counter(name for name, _ in value)
            for name, inner in value:
                yield from _doubled(inner, f"{pointer}/{escape(name)}")
            for name in (name for name, count in counts.items() if count > 1):
                yield Fault(
                    pointer=f"{pointer}/{escape(name)}",
                    code="doubled_name",
                    message=f"is there {counts[name]} times",
                    accepted="each name once in an object",
                )
        case list():
            for number, inner in enumerate(value):
                yield from _doubled(inner, f"{pointer}/{number}")


def read_json(content: bytes) -> Any:  # noqa: ANN401  # what was put there, its reader knows
    """One JSON value of our own keeping. Raises: ValueError if the bytes are anything else."""
    return orjson.loads(content)


def write_json(value: object) -> bytes:
    """A value, of a published type or plain, as one line of JSON, in the order it was built.

    Raises: ValueError on a non-finite number.
    """
    plain = isinstance(value, dict | list | tuple)
    told = value if plain else msgspec.to_builtins(value, enc_hook=dict)
    require_finite(told)
    return write_finite(told)


def write_finite(told: object) -> bytes:
    """Plain data, of which it is known that no number in it is not finite, as one line of JSON."""
    return shown(orjson.dumps(told, option=orjson.OPT_APPEND_NEWLINE))


def shown(content: bytes) -> bytes:
    """The same JSON with escapes for what a terminal would obey and JSON need not write out.

    DEL, C1, what turns the direction of writing and what else formats without being seen.
    """
    if content.isascii() and DEL not in content:  # as nearly always: a microsecond
        return content
    return OBEYED.sub(lambda found: written_out(found[0]), content.decode()).encode()


def require_finite(value: object) -> None:
    """Raise ValueError if a number anywhere in the value is not finite.

    Looks into what the writer writes: dict, list and tuple.
    """
    waiting: list[Iterable[object]] = [(value,)]
    while waiting:
        for item in waiting.pop():
            if isinstance(item, str):  # a third of an answer
                continue
            if isinstance(item, float):
                if not math.isfinite(item):
                    raise ValueError(f"not a finite number: {item}")
            elif isinstance(item, dict):
                waiting.append(item.values())
            elif isinstance(item, list | tuple):
                waiting.append(item)


class StrictJsonProvider(DefaultJSONProvider):
    """Flask's JSON through the two functions above."""

    def dumps(self, obj: Any, **_kwargs: Any) -> str:  # noqa: ANN401  # Flask's signature
        """Text of a value."""
        return write_json(obj).decode()

    def loads(self, s: str | bytes, **_kwargs: Any) -> Any:  # noqa: ANN401  # Flask's signature
        """Value of a text."""
        return orjson.loads(s)
