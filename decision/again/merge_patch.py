"""JSON Merge Patch RFC 7396, and what of a value a patch speaks of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from decision.errors import Fault, InvalidCase

JsonValue = Any

TOO_DEEP: Final = Fault(
    pointer="",
    code="nesting",
    message="is nested too deeply",
    accepted="a patch as deep as a case is",
)


def merged(target: JsonValue, patch: JsonValue) -> JsonValue:
    """The target as the patch has it: members are merged, null removes, all else replaces.

    Neither is changed. Raises: InvalidCase if there is no end of depth. Source: RFC 7396 section 2.
    """
    try:
        return _merged(target, patch)
    except RecursionError:
        raise InvalidCase((TOO_DEEP,)) from None


def _merged(target: JsonValue, patch: JsonValue) -> JsonValue:
    if not isinstance(patch, Mapping):
        return patch
    made = dict(target) if isinstance(target, Mapping) else {}
    for name, value in patch.items():
        if value is None:
            made.pop(name, None)
        else:
            made[name] = _merged(made.get(name), value)
    return made


def mentions(patch: JsonValue, path: Sequence[str]) -> bool:
    """Whether a patch says what stands at a path, were it only that nothing does.

    What is replaced as a whole is said in every part.
    """
    for token in path:
        if not isinstance(patch, Mapping):
            return True
        if token not in patch:
            return False
        patch = patch[token]
    return True
