"""Places in a body by JSON Pointer RFC 6901; those used here have no characters to unescape."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from decision.again.merge_patch import mentions

Body = dict[str, Any]


def is_given(pointer: str, patch: Mapping[str, Any]) -> bool:
    """Whether a patch says what stands there."""
    return mentions(patch, pointer.split("/")[1:])


def value_at(body: Any, pointer: str) -> Any:  # noqa: ANN401  # JSON
    """What a body has at a pointer; None where it has nothing."""
    for token in pointer.split("/")[1:]:
        if isinstance(body, Mapping):
            body = body.get(token)
        elif isinstance(body, list) and int(token) < len(body):
            body = body[int(token)]
        else:
            return None
    return body


def put(body: Body, pointer: str, value: Any) -> None:  # noqa: ANN401  # JSON
    """Set or, with None, take away what stands at a pointer; a place that is named is described."""
    *parents, last = pointer.split("/")[1:]
    place: Any = body
    for token in parents:
        key: Any = int(token) if isinstance(place, list) else token
        if isinstance(place, list) and key >= len(place):
            return
        inner = place[key] if isinstance(place, list) else place.get(key)
        if isinstance(inner, str):
            inner = {"icao": inner}
        elif inner is None:
            inner = {}
        place[key] = inner
        place = inner
    if not isinstance(place, dict):
        return  # the patch put something else there, which is its fault to be told
    if value is None:
        place.pop(last, None)
    else:
        place[last] = value
