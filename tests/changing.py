"""A value with other members, whichever kind of value it is."""

from __future__ import annotations

import dataclasses
from typing import Any, TypeVar

from msgspec import Struct, structs

Value = TypeVar("Value")


def replace(value: Value, /, **changes: Any) -> Value:
    """The value with these members changed."""
    if isinstance(value, Struct):
        return structs.replace(value, **changes)
    return dataclasses.replace(value, **changes)  # type: ignore[type-var]
