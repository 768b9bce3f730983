"""From a type to its format: what a body must look like to become a value of it.

The types say it once; a check, a schema and a document are made of what is read here. A member's
last `about` or `sized` is its meaning, the ones before describe the kind of value.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from msgspec import NODEFAULT, Meta, Struct
from msgspec.structs import fields

from decision.case.spec import (
    AnyObject,
    AnyOf,
    Choice,
    Field,
    FieldBeside,
    Instant,
    ListOf,
    Number,
    RecordSpec,
    Spec,
    Text,
    TrueOrFalse,
)
from decision.fields import SUPPLIED, UNIT, WORDS

Hint = Any  # what stands in an annotation: a type, a union, a generic
UNIONS: Final = (Union, UnionType)
NOTHING: Final = Meta()
"""The meaning of a value that is no member, such as an item of a list."""


@cache
def record_of(kind: type[Struct]) -> RecordSpec:
    """The object that a value of this type is written as."""
    hints = get_type_hints(kind, include_extras=True)
    members: list[Field | FieldBeside] = []
    for member in fields(kind):
        hint, notes = _split(hints[member.name])
        metas = _metas(notes)
        if metas:
            supplied = SUPPLIED in notes
            members.append(_field(member.name, hint, metas, member.default, supplied=supplied))
        elif isinstance(hint, type) and issubclass(hint, Struct):
            members.append(FieldBeside(name=member.name, record=record_of(hint)))
    return RecordSpec(name=kind.__name__, kind=kind, members=tuple(members))


def _field(
    name: str, hint: Hint, metas: Sequence[Meta], default: object, *, supplied: bool
) -> Field:
    return Field(
        name=name,
        spec=_spec(hint, metas),
        doc=metas[-1].description or "",
        required=default is NODEFAULT and not supplied,
        supplied=supplied,
        default=None if default is NODEFAULT else _written(default),
    )


def _split(hint: Hint) -> tuple[Hint, tuple[object, ...]]:
    """A type and the notes on it."""
    return (hint.__origin__, hint.__metadata__) if _origin(hint) is Annotated else (hint, ())


def _origin(hint: Hint) -> object:
    return get_origin(hint)


def _metas(notes: Sequence[object]) -> tuple[Meta, ...]:
    return tuple(note for note in notes if isinstance(note, Meta))


def _written(default: object) -> object:
    """A default as a body would have it."""
    match default:
        case Enum():
            return default.value
        case frozenset():
            return tuple(sorted(default))
        case Struct():
            return {}
        case _:
            return default


def _spec(hint: Hint, metas: Sequence[Meta]) -> Spec:
    """The shape of a value, of which the notes inside a union are known better."""
    if _origin(hint) not in UNIONS:
        return _plain(hint, metas)
    parts = [_split(part) for part in get_args(hint) if part is not NoneType]
    if len(parts) == 1:
        [(inner, notes)] = parts
        return _plain(inner, (*_metas(notes), *metas))
    return AnyOf(choices=tuple(_plain(inner, (*_metas(notes), NOTHING)) for inner, notes in parts))


def _plain(hint: Hint, metas: Sequence[Meta]) -> Spec:
    if _origin(hint) is Literal:
        return Choice(values=get_args(hint))
    if _origin(hint) in (tuple, frozenset):
        return _list(hint, metas)
    if _origin(hint) is dict:
        return AnyObject()
    return next(make for kind, make in MAKERS if issubclass(hint, kind))(hint, metas)


def _object(kind: type[Struct], metas: Sequence[Meta]) -> Spec:
    """An object, or a text where one that is known may be named alone."""
    record = record_of(kind)
    if all(meta.max_length is None for meta in metas):
        return record
    return AnyOf(choices=(_text(str, metas), record))


def _list(hint: Hint, metas: Sequence[Meta]) -> ListOf:
    container: Any = _origin(hint)
    items = [item for item in get_args(hint) if item is not Ellipsis]
    fixed = len(items) if container is tuple and Ellipsis not in get_args(hint) else None
    inner, notes = _split(items[0])
    return ListOf(
        item=_plain(inner, (*_metas(notes), NOTHING)),
        kind=container,
        min_items=fixed or _last(metas, "min_length") or 0,
        max_items=fixed or _known(metas, "max_length"),
    )


def _number(kind: type, metas: Sequence[Meta]) -> Number:
    units = [_extra(meta)[UNIT] for meta in metas if UNIT in _extra(meta)]
    return Number(
        low=_known(metas, "ge"),
        high=_known(metas, "le"),
        unit=units[-1] if units else "",
        whole=issubclass(kind, int),
    )


def _text(kind: type, metas: Sequence[Meta]) -> Spec:
    """A text; of a type that is none, the name of a value of it."""
    words = [_extra(meta)[WORDS] for meta in metas if WORDS in _extra(meta)]
    if words:
        return Choice(values=tuple(words[-1]))
    means = [meta.description for meta in metas[:-1] if meta.description is not None]
    return Text(
        kind=kind,
        max_length=_known(metas, "max_length"),
        min_length=_known(metas, "min_length"),
        pattern=_last(metas, "pattern"),
        means=means[0] if means else "text",
    )


def _extra(meta: Meta) -> dict[str, Any]:
    return meta.extra_json_schema or {}


def _last(metas: Sequence[Meta], limit: str) -> Any:  # noqa: ANN401  # of any kind of limit
    """What the last note says of a limit; None if none says anything."""
    said = [getattr(meta, limit) for meta in metas if getattr(meta, limit) is not None]
    return said[-1] if said else None


def _known(metas: Sequence[Meta], limit: str) -> Any:  # noqa: ANN401  # of any kind of limit
    """A limit that a format has to have. Raises: TypeError if nothing says it."""
    said = _last(metas, limit)
    if said is None:
        raise TypeError(f"{limit} is not said of {[meta.description for meta in metas]}")
    return said


MAKERS: Final[tuple[tuple[Any, Callable[[Any, Sequence[Meta]], Spec]], ...]] = (
    (bool, lambda _kind, _metas: TrueOrFalse()),
    (datetime, lambda _kind, _metas: Instant()),
    ((int, float), _number),
    (Enum, lambda kind, _metas: Choice(values=tuple(each.value for each in kind), kind=kind)),
    (Struct, _object),
    (object, _text),
)
"""How a type is written, the first that it is of."""
