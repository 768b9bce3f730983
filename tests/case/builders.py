"""A complete request as a plain object, and a way to change one member of it by JSON Pointer."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

CASES = Path(__file__).parents[1] / "cases"
REMOVED = object()


def demo(name: str) -> dict[str, Any]:
    """A demo case, fresh for the caller to change."""
    body: dict[str, Any] = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    return body


def with_changes(body: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """The body with members replaced, added or REMOVED at JSON Pointers."""
    changed = copy.deepcopy(body)
    for pointer, value in changes.items():
        *parents, last = pointer.strip("/").split("/")
        place: Any = changed
        for token in parents:
            place = place[int(token)] if isinstance(place, list) else place.setdefault(token, {})
        key: Any = int(last) if isinstance(place, list) else last
        if value is REMOVED:
            del place[key]
        else:
            place[key] = value
    return changed
