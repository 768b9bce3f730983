"""Values of `decision` as plain JSON data: field names as they are, enums by value, UTC text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import Any

from msgspec import Struct

from decision.windows import Window, instant_text


def plain(value: object) -> Any:  # noqa: ANN401  # any JSON value
    """A value as JSON data; a set in sorted order. Raises: TypeError on a kind it does not know."""
    match value:
        case Enum():
            return value.value
        case None | str() | bool() | int() | float():
            return value
        case datetime():
            return instant_text(value)
        case _:
            return _compound(value)


def _compound(value: object) -> Any:  # noqa: ANN401  # any JSON value
    match value:
        case Window():
            return {"start": plain(value.start_at), "end": plain(value.end_at)}
        case Mapping():
            return {str(plain(key)): plain(item) for key, item in value.items()}
        case list() | tuple():
            return [plain(item) for item in value]
        case frozenset():
            return sorted(plain(item) for item in value)
        case Struct():
            return {name: plain(getattr(value, name)) for name in value.__struct_fields__}
        case _ if is_dataclass(value):
            return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
        case _:
            raise TypeError(f"no JSON for {type(value).__name__}")
