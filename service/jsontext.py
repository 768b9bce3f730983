"""JSON in and out: strict reading, finite numbers only, one canonical writer.

orjson refuses NaN, infinities, numbers that overflow and absurd nesting on the way in; on the way
out it would write a non-finite number as null without a word, so that is refused here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import msgspec
import orjson
from flask.json.provider import DefaultJSONProvider


def read_json(content: bytes) -> object:
    """One JSON value. Raises: ValueError if the bytes are anything else."""
    return orjson.loads(content)


def write_json(value: object) -> bytes:
    """A value, of a published type or plain, as one line of JSON, in the order it was built.

    Raises: ValueError on a non-finite number.
    """
    told = msgspec.to_builtins(value) if isinstance(value, msgspec.Struct) else value
    require_finite(told)
    return orjson.dumps(told, option=orjson.OPT_APPEND_NEWLINE)


def require_finite(value: object) -> None:
    """Raise ValueError if a number anywhere in the value is not finite.

    Looks into what the writer writes: dict, list and tuple. A third of an answer is text, which is
    passed over without a call.
    """
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError(f"not a finite number: {value}")
    elif isinstance(value, dict):
        _require_each_finite(value.values())
    elif isinstance(value, list | tuple):
        _require_each_finite(value)


def _require_each_finite(items: Iterable[object]) -> None:
    for item in items:
        if type(item) is not str:
            require_finite(item)


class StrictJsonProvider(DefaultJSONProvider):
    """Flask's JSON through the two functions above."""

    def dumps(self, obj: Any, **_kwargs: Any) -> str:  # noqa: ANN401  # Flask's signature
        """Text of a value."""
        return write_json(obj).decode()

    def loads(self, s: str | bytes, **_kwargs: Any) -> Any:  # noqa: ANN401  # Flask's signature
        """Value of a text."""
        return orjson.loads(s)
