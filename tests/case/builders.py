"""A complete request as a plain object, and a way to change one member of it by JSON Pointer."""

from __future__ import annotations

import copy
from typing import Any

from decision.case.demos import FOLDER, installed_demos

CASES = FOLDER
_DEMOS = {each.name: each for each in installed_demos()}
NAMES = list(_DEMOS)
REMOVED = object()


def demo(name: str) -> dict[str, Any]:
    """A demo case, fresh for the caller to change."""
    return _DEMOS[name].request()


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
