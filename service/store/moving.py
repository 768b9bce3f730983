"""A store as lines of JSON, a link a line: out of one store, and into an empty one.

A line has all columns of its link, and under `decision` those of its decision, bodies as text: they
are JSON, and so are UTF-8. What comes in is linked anew as it comes, and must come to the same.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import IO, Any, Final

from sqlalchemy import Connection, RowMapping, insert, select, update

from service.store.chain import NO_HEAD, Head, linked
from service.store.port import StoreDamaged
from service.store.sql import ZLIB, compressed, uncompressed
from service.store.tables import CHAIN, DECISIONS, HEAD

BODIES: Final = ("request", "response", "whole")
PLAIN: Final = tuple(
    each.name for each in DECISIONS.c if each.name not in {*BODIES, "coding", "decision_id"}
)
AS_IN_DECISION: Final = "in_decision_"


class NotImported(Exception):
    """What comes in is not what was exported, or there is something here already."""


def lines_of(connection: Connection) -> Iterator[str]:
    """Every link in order, each with its decision. Raises: StoreDamaged."""
    wanted = (
        select(CHAIN, *(each.label(f"{AS_IN_DECISION}{each.name}") for each in DECISIONS.c))
        .join(DECISIONS, DECISIONS.c.decision_id == CHAIN.c.decision_id, isouter=True)
        .order_by(CHAIN.c.sequence)
        .execution_options(yield_per=200)
    )
    for row in connection.execute(wanted).mappings():
        told: dict[str, Any] = {each.name: row[each.name] for each in CHAIN.c}
        there = row[f"{AS_IN_DECISION}decision_id"] is not None
        told["decision"] = _decision(row) if there else None
        yield json.dumps(told, ensure_ascii=False, separators=(",", ":")) + "\n"


def _decision(row: RowMapping) -> dict[str, Any]:
    told: dict[str, Any] = {name: row[f"{AS_IN_DECISION}{name}"] for name in PLAIN}
    for name in BODIES:
        kept = row[f"{AS_IN_DECISION}{name}"]
        content = None if kept is None else uncompressed(kept, row[f"{AS_IN_DECISION}coding"])
        if kept is not None and content is None:
            raise StoreDamaged(f"the {name} of decision {row['decision_id']} cannot be read")
        told[name] = None if content is None else content.decode()
    return told


def export(connection: Connection, out: IO[str]) -> int:
    """Write every line; how many."""
    count = 0
    for count, line in enumerate(lines_of(connection), 1):  # noqa: B007 - the last one is told
        out.write(line)
    return count


def take_in(connection: Connection, lines: Iterable[str]) -> Head:
    """Put exported lines into an empty store; its head. Raises: NotImported."""
    if connection.execute(select(CHAIN.c.sequence).limit(1)).first() is not None:
        raise NotImported("the store is not empty")
    head = NO_HEAD
    for number, line in enumerate(lines, 1):
        head = _taken(connection, head, number, line)
    connection.execute(update(HEAD).values(sequence=head.sequence, link=head.link))
    return head


def _taken(connection: Connection, head: Head, number: int, line: str) -> Head:
    try:
        told: dict[str, Any] = json.loads(line)
        each = linked(told)
        follows = each.entry.link(previous=head.link, sequence=head.sequence + 1)
        decision = None if told["decision"] is None else _columns(told)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise NotImported(f"line {number} is none that was exported: {error!r}") from error
    if each.link != follows or each.sequence != head.sequence + 1:
        raise NotImported(f"line {number} does not follow from the line before it")
    connection.execute(insert(CHAIN).values(**{name.name: told[name.name] for name in CHAIN.c}))
    if decision is not None:
        connection.execute(insert(DECISIONS).values(**decision))
    return Head(sequence=each.sequence, link=each.link)


def _columns(told: dict[str, Any]) -> dict[str, Any]:
    decision = told["decision"]
    return {
        "decision_id": told["decision_id"],
        "coding": ZLIB,
        **{name: decision[name] for name in PLAIN},
        **{
            name: None if decision[name] is None else compressed(decision[name].encode())
            for name in BODIES
        },
    }
