"""marshmallow schemas made from the shapes of the types: nothing is described twice.

marshmallow is lenient by default ("60000" is a number, "on" is true); these fields hand each value
to the shape it came from, which converts nothing. The same classes carry what the API document
needs, so the document, the check over HTTP and the check of the command line cannot disagree.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import Any, Final

from marshmallow import RAISE, Schema, ValidationError, fields

from decision.case.spec import Field, ListOf, RecordSpec, Spec, escape, hinted
from decision.errors import Fault


class Shaped(fields.Field[Any]):
    """A value that is exactly what its shape accepts, handed on as it is."""

    def __init__(self, spec: Spec, **kwargs: Any) -> None:  # noqa: ANN401  # marshmallow's own
        super().__init__(**kwargs)
        self.spec = spec

    def _deserialize(self, value: Any, *_args: object, **_kwargs: object) -> Any:  # noqa: ANN401
        _refuse(self.spec.faults(value))
        return value


class ShapedRecord(fields.Nested):
    """An object with its own schema; anything but an object is refused by its shape."""

    def __init__(self, spec: RecordSpec, **kwargs: Any) -> None:  # noqa: ANN401  # marshmallow's own
        super().__init__(schema_of(spec), **kwargs)
        self.spec = spec

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401
        if not self.spec.admits(value):
            _refuse(self.spec.faults(value))
        return super()._deserialize(value, *args, **kwargs)


class ShapedRecords(fields.List[Any]):
    """A list of objects; its type and length are judged by its shape, its items by theirs."""

    def __init__(self, spec: ListOf, item: RecordSpec, **kwargs: Any) -> None:  # noqa: ANN401
        null = {"null": list(item.faults(None))}
        super().__init__(ShapedRecord(item, error_messages=null), **kwargs)
        self.spec = spec

    def _deserialize(self, value: Any, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401
        spec = self.spec
        if not spec.admits(value) or not spec.min_items <= len(value) <= spec.max_items:
            _refuse(spec.faults(value))
        return super()._deserialize(value, *args, **kwargs)


class _Strict:
    """marshmallow's default, said aloud so that the API document says it too."""

    unknown = RAISE


_MADE: Final[dict[str, tuple[RecordSpec, type[Schema]]]] = {}


def schema_of(record: RecordSpec) -> type[Schema]:
    """The schema class of a record, made once. Raises: ValueError if a name has two records."""
    if record.name not in _MADE:
        _MADE[record.name] = (record, _made(record))
    known, schema = _MADE[record.name]
    if known is not record:
        raise ValueError(f"two records are called {record.name}")
    return schema


def _made(record: RecordSpec) -> type[Schema]:
    unknown = Fault(
        pointer="",
        code="unknown_field",
        message=f"{record.name} has no field of this name",
        accepted=", ".join(record.by_name),
    )
    members = {member.name: _field(member) for member in record.fields}
    return type(
        record.name,
        (Schema,),
        {**members, "Meta": _Strict, "error_messages": {"unknown": unknown}},
    )


def faults_of(shape: RecordSpec, body: object) -> tuple[Fault, ...]:
    """What is wrong with a body, each fault with its JSON Pointer; empty when it fits.

    Shape and schema agree on what fits (`tests/service/test_schemas.py`), and the shape says so in
    a third of the time; of what does not fit the schema tells every fault.
    """
    faults = shape.faults(body)
    return by_schema(shape, body) if faults and isinstance(body, Mapping) else faults


def by_schema(shape: RecordSpec, body: Mapping[str, object]) -> tuple[Fault, ...]:
    """What its schema finds wrong with an object."""
    return hinted(tuple(_located(_checker(schema_of(shape)).validate(body), "")))


@cache
def _checker(schema: type[Schema]) -> Schema:
    """The one object of a schema, shared by all threads: a check leaves nothing behind in it."""
    return schema()


def _field(member: Field) -> fields.Field[Any]:
    options: dict[str, Any] = {
        "required": member.required,
        "allow_none": not member.required,  # null says the same as leaving the member out
        "metadata": _metadata(member),
        "error_messages": _messages(member),
    }
    match member.spec:
        case RecordSpec() as record:
            return ShapedRecord(record, **options)
        case ListOf(item=RecordSpec() as item) as spec:
            return ShapedRecords(spec, item, **options)
        case spec:
            return Shaped(spec, **options)


def _metadata(member: Field) -> dict[str, object]:
    described: dict[str, object] = {"description": member.doc}
    unit = getattr(member.spec, "unit", "")
    if unit:
        described["x-unit"] = unit
    # A record left out is one without members: each member of it tells its own default.
    if member.default is not None and not isinstance(member.spec, RecordSpec):
        described["default"] = list(member.default) if member.default == () else member.default
    return described


def _messages(member: Field) -> dict[str, Any]:
    missing = Fault(
        pointer="",
        code="required",
        message=f"{member.name} is required",
        accepted=member.spec.accepted,
    )
    return {"required": missing, "null": missing}


def _refuse(faults: tuple[Fault, ...]) -> None:
    if faults:
        raise ValidationError(list(faults))  # carried as they are, never formatted


def _located(errors: Any, pointer: str) -> Iterator[Fault]:  # noqa: ANN401  # marshmallow's tree
    """The faults in a tree of errors, in the tree's order, with full pointers."""
    match errors:
        case Fault():
            yield replace(errors, pointer=pointer + errors.pointer)
        case Mapping():
            for token, inner in errors.items():
                yield from _located(inner, f"{pointer}/{escape(str(token))}")
        case _:
            for inner in errors:
                yield from _located(inner, pointer)
