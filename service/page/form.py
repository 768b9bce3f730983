"""The form of a case put together by hand, made of the declaration of the request.

Every member of a request that a person may give has a control here, without a list of them: a
member that is added to the types stands on the page. What only the service writes into a case is
told, kept and sent back as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Final

from msgspec import Struct

from decision.case import CASE, Library
from decision.case.demos import installed_demos
from decision.case.spec import (
    AnyOf,
    Choice,
    Field,
    Instant,
    ListOf,
    Number,
    RecordSpec,
    Spec,
    Text,
    TrueOrFalse,
)

LONG_TEXT: Final = 1_000
"""Characters from which on a text of a list is a report, pasted with others into one field."""
FEW: Final = 4
"""Members up to which all of an object are shown at once, but for what most cases leave alone."""
LEFT_ALONE: Final = frozenset({"Weather/fetch"})
WRITTEN_BY_THE_SERVICE: Final = ("carried", "proposed", "weather/fetched")
SHOWN_AT_ONCE: Final = frozenset(
    {
        "Case/rulebook",
        "Aircraft/gear",
        "Aircraft/flap",
        "Destination/track_nm",
        "Alternate/track_nm",
        "Alternate/track_from_present_nm",
        "Runway/lda_m",
        "Runway/condition_code",
        "Runway/closed",
        "Approach/needs",
        "Approach/dh_ft",
        "Approach/mdh_ft",
        "Approach/rvr_m",
        "Approach/visibility_m",
        "Weather/reports",
        "Observation/visibility_m",
        "Observation/ceiling_ft",
        "Observation/rvr",
        "Plan/approach",
        "Plan/runway",
        "Plan/hold_min",
    }
)
"""Besides what is required: what most cases say, by type and name. The rest opens on demand."""
OPENED: Final = frozenset({"wind"})
"""Objects that may be left out, and of which most cases that have them say something."""
SECTIONS: Final = (
    ("flight", "Flight", (("", ("flight_id", "as_of", "rulebook")),)),
    ("aircraft", "Aircraft and fuel, at that time", (("", ("aircraft", "fuel")),)),
    ("failures", "What has failed", (("", ("failures",)),)),
    (
        "places",
        "Where to",
        (
            ("destination", ("destination",)),
            ("", ("alternates", "propose_alternates")),
            ("plan", ("plan",)),
        ),
    ),
    ("reports", "Reports: paste all, in any order", (("", ("weather",)),)),
    (
        "air",
        "Winds aloft, later readings, air traffic",
        (("", ("winds_aloft",)), ("", ("observations",)), ("", ())),
    ),
    (
        "policy",
        "Operator's policy, and what else to compute",
        (("", ("policy",)), ("", ("approvals", "include", "compare_rulebooks"))),
    ),
)
"""Name and title of each section, and its blocks: a title of their own, the members in them.

Whatever stands in no block stands in the one without members.
"""
LISTS_OF_THEIR_OWN: Final = {
    "aircraft/profile": "profiles",
    "aircraft/flap": "detents",
    "detent": "detents",
    "plan/landing_flap": "detents",
    "plan/approach": "approaches",
    "plan/runway": "runways",
    "icao": "aerodromes",
    "destination/icao": "aerodromes",
}
"""Which texts are offered the names that the loaded data has, by path in their scope."""
UNIT_ENDS: Final = {
    "degrees true": ("_true_deg", "_deg"),
    "degrees Celsius": ("_degc",),
    "degrees": ("_deg",),
    "kg/h": ("_kg_per_h",),
}
"""How a name ends that has its unit in it, where that is not the unit in small letters."""
TOLD_WITH_THEIR_GROUP: Final = frozenset({"fuel", "position", "wind", "air_traffic"})
SPELLED: Final = {
    "icao": "aerodrome",
    "id": "name",
    "lda": "landing distance available",
    "dh": "decision height",
    "mdh": "minimum descent height",
    "rvr": "RVR",
    "qnh": "QNH",
    "oei": "one-engine-out",
}

KINDS: Final[Mapping[type, str]] = {
    Number: "number",
    TrueOrFalse: "flag",
    Instant: "instant",
    AnyOf: "thirds",
    Text: "text",
}
"""How a value of a shape is given, where there are no words to choose from."""


class Control(Struct, frozen=True, kw_only=True):
    """One value of the request: how it is given, and what is told of it.

    `path`: where it stands in its case, or in its item of a list, with slashes between.
    """

    path: str
    kind: str
    label: str
    meaning: str
    accepted: str
    absent: str
    required: bool
    at_once: bool
    options: tuple[str, ...] = ()
    offered: str | None = None


class Repeated(Struct, frozen=True, kw_only=True):
    """A list of objects: items of one template, as many as are wanted."""

    path: str
    label: str
    meaning: str
    template: str
    item: str
    most: int
    required: bool
    at_once: bool


Part = Control | Repeated


class Block(Struct, frozen=True, kw_only=True):
    """Parts that belong together: those shown at once, and those that open on demand."""

    title: str
    at_once: tuple[Part, ...]
    on_demand: tuple[Part, ...]


class Section(Struct, frozen=True, kw_only=True):
    """Parts of the form under one heading."""

    name: str
    title: str
    blocks: tuple[Block, ...]


class ItemTemplate(Struct, frozen=True, kw_only=True):
    """An item of a list; `named`: the name alone may stand for it."""

    name: str
    title: str
    named: bool
    at_once: tuple[Part, ...]
    on_demand: tuple[Part, ...]


class CaseForm(Struct, frozen=True, kw_only=True):
    """Everything that the page shows."""

    sections: Mapping[str, Section]
    templates: tuple[ItemTemplate, ...]
    objects: tuple[str, ...]
    named: tuple[str, ...]
    written: tuple[tuple[str, str], ...]
    demos: tuple[tuple[str, str], ...]
    profiles: tuple[str, ...]


def case_form(library: Library) -> CaseForm:
    """The form, with what is loaded."""
    return CaseForm(
        sections={each.name: each for each in _sections()},
        templates=_templates(),
        objects=tuple(
            field.name for field in CASE.fields if field.required and _record(field.spec)
        ),
        named=tuple(field.name for field in CASE.fields if isinstance(field.spec, AnyOf)),
        written=tuple((path, _at(path).doc) for path in WRITTEN_BY_THE_SERVICE),
        demos=tuple((each.name, each.title) for each in installed_demos()),
        profiles=tuple(library.profile_ids),
    )


def spaced(name: str) -> str:
    """A type's name in words: `WindAloft` is a wind aloft."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()


def parts_of(record: RecordSpec) -> tuple[Part, ...]:
    """The controls and lists of an object, those of objects inside it among them."""
    return tuple(_parts(record, "", required=True))


@cache
def _sections() -> tuple[Section, ...]:
    placed = {root for _, _, blocks in SECTIONS for _, roots in blocks for root in roots}
    rest = tuple(field.name for field in CASE.fields if field.name not in placed)
    parts = parts_of(CASE)
    return tuple(
        Section(
            name=name,
            title=title,
            blocks=tuple(_block(told, roots or rest, parts) for told, roots in blocks),
        )
        for name, title, blocks in SECTIONS
    )


def _block(title: str, roots: Sequence[str], parts: Sequence[Part]) -> Block:
    found = [part for part in parts if part.path.partition("/")[0] in roots]
    return Block(title=title, at_once=_at_once(found), on_demand=_later(found))


@cache
def _templates() -> tuple[ItemTemplate, ...]:
    """One for each kind of item, those of lists in items too."""
    made: dict[str, ItemTemplate] = {}
    for record, named in _items(CASE):
        if record.name not in made:
            parts = parts_of(record)
            made[record.name] = ItemTemplate(
                name=record.name,
                title=spaced(record.name),
                named=named,
                at_once=_at_once(parts),
                on_demand=_later(parts),
            )
    return tuple(made.values())


def _items(record: RecordSpec, path: str = "") -> Iterator[tuple[RecordSpec, bool]]:
    for field in record.fields:
        where = f"{path}{field.name}"
        if where in WRITTEN_BY_THE_SERVICE:
            continue
        inner = _record(field.spec)
        if inner is not None:
            yield from _items(inner, f"{where}/")
        item = _record(field.spec.item) if isinstance(field.spec, ListOf) else None
        if item is not None and isinstance(field.spec, ListOf):
            yield item, isinstance(field.spec.item, AnyOf)
            yield from _items(item, f"{where}/")


def _at_once(parts: Sequence[Part]) -> tuple[Part, ...]:
    return tuple(part for part in parts if part.at_once)


def _later(parts: Sequence[Part]) -> tuple[Part, ...]:
    return tuple(part for part in parts if not part.at_once)


def _record(spec: Spec) -> RecordSpec | None:
    """The object that a value is, or may be described as."""
    if isinstance(spec, RecordSpec):
        return spec
    return spec.named if isinstance(spec, AnyOf) else None


def _at(path: str) -> Field:
    """The member of a case at a path. Raises: KeyError where there is none."""
    *objects, name = path.split("/")
    record = CASE
    for each in objects:
        inner = _record(record.by_name[each].spec)
        if inner is None:
            raise KeyError(path)
        record = inner
    return record.by_name[name]


def _parts(
    record: RecordSpec, path: str, *, required: bool, at_once: bool = True
) -> Iterator[Part]:
    """`at_once`: whether anything of the object is shown before it is asked for."""
    few = len(record.fields) <= FEW
    for field in record.fields:
        where = f"{path}{field.name}"
        needed = required and field.required
        inner = _record(field.spec)
        name = f"{record.name}/{field.name}"
        common = needed or name in SHOWN_AT_ONCE or (few and name not in LEFT_ALONE)
        shown = at_once and common
        if where in WRITTEN_BY_THE_SERVICE:
            continue
        if inner is not None:
            opened = at_once and (needed or field.default == {} or field.name in OPENED)
            yield from _parts(inner, f"{where}/", required=needed, at_once=opened)
        elif isinstance(field.spec, ListOf) and _record(field.spec.item) is not None:
            yield _repeated(field, where, required=needed, at_once=shown)
        else:
            yield _control(field, where, required=needed, at_once=shown)


def _repeated(field: Field, where: str, *, required: bool, at_once: bool) -> Repeated:
    spec = field.spec
    item = _record(spec.item) if isinstance(spec, ListOf) else None
    if item is None or not isinstance(spec, ListOf):
        raise TypeError(f"{where} is no list of objects")
    return Repeated(
        path=where,
        label=label_of(field),
        meaning=field.doc,
        template=item.name,
        item=spaced(item.name),
        most=spec.max_items,
        required=required,
        at_once=at_once,
    )


def _control(field: Field, where: str, *, required: bool, at_once: bool) -> Control:
    kind, options = _kind(field.spec)
    return Control(
        path=where,
        kind=kind,
        label=label_of(field, group=where.rpartition("/")[0]),
        meaning=field.doc,
        accepted=field.spec.accepted,
        absent="required" if required else _absent(field),
        required=required,
        at_once=at_once,
        options=options,
        offered=LISTS_OF_THEIR_OWN.get(where),
    )


def _kind(spec: Spec) -> tuple[str, tuple[str, ...]]:
    """How the script reads a control, and the words there are to choose from."""
    match spec:
        case ListOf(item=Choice(values=words)):
            return "words", words
        case ListOf(item=Text(max_length=longest)):
            return ("reports" if longest >= LONG_TEXT else "texts"), ()
        case Choice(values=words):
            return "choice", words
    return KINDS[type(spec)], ()


def _absent(field: Field) -> str:
    """What is taken where nothing is given, in the words of the declaration."""
    if field.default not in (None, (), {}):
        return f"default taken: {_said(field.default)}"
    _, absent, words = field.doc.partition("absent: ")
    if absent:
        return f"not given: {words.rstrip('.')}"
    return "none" if isinstance(field.spec, ListOf) else "not known"


def _said(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value).replace("_", " ")


def label_of(field: Field, group: str = "") -> str:
    """Its name in words, and its unit; before it what it belongs to, where that is not plain."""
    unit = field.spec.unit if isinstance(field.spec, Number) else ""
    name = field.name
    ends = UNIT_ENDS.get(unit, (f"_{unit.lower()}",)) if unit else ()
    if isinstance(field.spec, Instant):
        unit, ends = "UTC", ("_at",)
    end = next((end for end in ends if name.endswith(end)), "")
    words = [SPELLED.get(word, word) for word in name.removesuffix(end).split("_")]
    inside = group.rpartition("/")[2]
    if inside in TOLD_WITH_THEIR_GROUP:
        words = [*inside.split("_"), *words]
    told = " ".join(words)
    return f"{told}, {unit}" if unit else told
