"""Whether the chain of records is whole, and where it breaks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Connection, RowMapping, func, select

from service.store.chain import (
    NO_HEAD,
    Head,
    Linked,
    Sign,
    entries,
    head_of,
)
from service.store.port import StoreDamaged, digest
from service.store.sql import uncompressed
from service.store.tables import CHAIN, DECISIONS

UNSIGNED: Final = select(func.count()).select_from(CHAIN).where(CHAIN.c.signature.is_(None))


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainBreak:
    """Where a chain breaks: at which number, of which decision, and how."""

    sequence: int
    decision_id: str | None
    how: str

    def __str__(self) -> str:
        of = "" if self.decision_id is None else f", decision {self.decision_id}"
        return f"at {self.sequence}{of}: {self.how}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What was found: the head, how many decisions have their bodies, and every break."""

    head: Head
    decisions: int
    unsigned: int
    breaks: tuple[ChainBreak, ...]


def proof_of(
    connection: Connection, *, sign: Sign | None = None, known: Head | None = None
) -> Proof:
    """Look at every link and every body.

    `known`: a head that was noted before and elsewhere, which the chain must still pass through.
    With `sign` the signatures are compared; what has none is counted.
    """
    links = list(_links(connection, sign, known))
    bodies = list(_bodies(connection))
    strangers = list(_strangers(connection))
    return Proof(
        head=_head(connection),
        decisions=sum(each is None for each in bodies),
        unsigned=connection.scalar(UNSIGNED) or 0,
        breaks=tuple(each for each in (*links, *bodies, *strangers) if each is not None),
    )


def _head(connection: Connection) -> Head:
    try:
        return head_of(connection)
    except StoreDamaged:
        return NO_HEAD


def _links(connection: Connection, sign: Sign | None, known: Head | None) -> Iterator[ChainBreak]:
    """Breaks between the links themselves."""
    before = NO_HEAD
    for each in entries(connection):
        yield from (_break(each, how) for how in _faults(each, before, sign, known))
        before = Head(sequence=each.sequence, link=each.link)
    told = _head(connection)
    if told != before:
        yield ChainBreak(
            sequence=told.sequence,
            decision_id=None,
            how=f"the head is not the last link, which is {before.sequence}",
        )
    if known is not None and known.sequence > before.sequence:
        yield ChainBreak(
            sequence=known.sequence,
            decision_id=None,
            how=f"the chain ends at {before.sequence}, before the head that was noted",
        )


def _faults(each: Linked, before: Head, sign: Sign | None, known: Head | None) -> Iterator[str]:
    if each.sequence != before.sequence + 1:
        yield f"follows {before.sequence}: records are missing between"
    if each.entry.link(previous=before.link, sequence=each.sequence) != each.link:
        yield "the link does not follow from the one before it and its record"
    if sign is not None and each.signature is not None and sign(each.link) != each.signature:
        yield "the signature is not that of the link with this key"
    if known is not None and known.sequence == each.sequence and known.link != each.link:
        yield "the link is not the one that was noted"


def _bodies(connection: Connection) -> Iterator[ChainBreak | None]:
    """Of every decision of the chain that has its bodies None, or how they break it."""
    purged = _purges(connection)
    wanted = (
        select(CHAIN, *(each for each in DECISIONS.c if each.name in {"request", "response"}))
        .add_columns(DECISIONS.c.whole, DECISIONS.c.coding)
        .join(DECISIONS, DECISIONS.c.decision_id == CHAIN.c.decision_id, isouter=True)
        .where(CHAIN.c.decision_id.is_not(None))
        .order_by(CHAIN.c.sequence)
        .execution_options(yield_per=200)
    )
    for row in connection.execute(wanted).mappings():
        if row["coding"] is None:
            by = [when for number, when in purged if number > row["sequence"]]
            if not any(row["at"] < when for when in by):
                yield _of(row, "its bodies are gone, and no removal of them is recorded")
        else:
            yield next((_of(row, how) for how in _altered(row)), None)


def _purges(connection: Connection) -> list[tuple[int, str]]:
    found = connection.execute(
        select(CHAIN.c.sequence, CHAIN.c.purged_before).where(CHAIN.c.purged_before.is_not(None))
    )
    return [(row.sequence, row.purged_before) for row in found]


def _altered(row: RowMapping) -> Iterator[str]:
    for name in ("request", "response", "whole"):
        kept, said = row[name], row[f"{name}_digest"]
        content = None if kept is None else uncompressed(kept, row["coding"])
        found = None if content is None else digest(content)
        if found != said:
            yield f"its {name} is not what the link says"


def _strangers(connection: Connection) -> Iterator[ChainBreak]:
    """Decisions that the chain does not know."""
    unknown = select(DECISIONS.c.decision_id).where(
        DECISIONS.c.decision_id.not_in(
            select(CHAIN.c.decision_id).where(CHAIN.c.decision_id.is_not(None))
        )
    )
    for row in connection.execute(unknown):
        yield ChainBreak(sequence=0, decision_id=row.decision_id, how="it has no link")


def _break(each: Linked, how: str) -> ChainBreak:
    return ChainBreak(sequence=each.sequence, decision_id=each.entry.decision_id, how=how)


def _of(row: RowMapping, how: str) -> ChainBreak:
    return ChainBreak(sequence=row["sequence"], decision_id=row["decision_id"], how=how)
