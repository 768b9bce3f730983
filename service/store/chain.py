"""The chain of records: each has a link to the one before it, so that no change goes unnoticed.

A link is the SHA-256 of the link before it and of what its record is. Whoever changes a record, or
takes one out, must make every link after it anew: against a head that was noted elsewhere that
shows. Without such a head, and without a key that signs, the chain proves only that the records
agree with each other.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, insert, select, update

from service.store.port import StoreDamaged
from service.store.tables import CHAIN, HEAD

GENESIS: Final = "0" * 64
"""The link before the first."""
THE_HEAD: Final = 1
"""The key of the only row of its table."""

Sign = Callable[[str], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainEntry:
    """What a link stands for: a decision, or that bodies were removed.

    A decision has its id and three digests, of which `whole` may be missing. A removal has the
    instant before which decisions were recorded that it took, and as `request_digest` that of their
    ids. `at` is when it was recorded, `caller` who asked, empty where nobody has to say.
    """

    decision_id: str | None
    request_digest: str
    response_digest: str
    whole_digest: str | None
    caller: str
    at: str
    purged_before: str | None = None

    def link(self, *, previous: str, sequence: int) -> str:
        """The link of this entry at its place in the chain."""
        told = [
            previous,
            sequence,
            self.decision_id,
            self.request_digest,
            self.response_digest,
            self.whole_digest,
            self.caller,
            self.at,
            self.purged_before,
        ]
        text = json.dumps(told, ensure_ascii=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The last link and its number; of an empty chain 0 and the link before the first."""

    sequence: int
    link: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Linked:
    """An entry as the chain has it."""

    sequence: int
    entry: ChainEntry
    link: str
    signature: str | None


NO_HEAD: Final = Head(sequence=0, link=GENESIS)


def signing_with(key: str | None) -> Sign | None:
    """What signs a link with a key, HMAC-SHA-256 in hexadecimal; None without one."""
    if key is None:
        return None
    secret = key.encode()
    return lambda link: hmac.new(secret, link.encode(), hashlib.sha256).hexdigest()


def appended(connection: Connection, entry: ChainEntry, *, sign: Sign | None = None) -> Head:
    """The head after an entry was put at the end; see `all_appended`."""
    return all_appended(connection, (entry,), sign=sign)


def all_appended(
    connection: Connection, entries: Sequence[ChainEntry], *, sign: Sign | None = None
) -> Head:
    """The head after entries were put at the end, in their order; waits for whoever is at it.

    Raises: StoreDamaged without a head.
    """
    head = head_of(connection, locked=True)
    rows = []
    for entry in entries:
        sequence = head.sequence + 1
        link = entry.link(previous=head.link, sequence=sequence)
        head = Head(sequence=sequence, link=link)
        rows.append(
            {
                "sequence": sequence,
                "link": link,
                "signature": None if sign is None else sign(link),
                **{name: getattr(entry, name) for name in ChainEntry.__slots__},
            }
        )
    if rows:
        connection.execute(insert(CHAIN), rows)
        connection.execute(update(HEAD).values(sequence=head.sequence, link=head.link))
    return head


def head_of(connection: Connection, *, locked: bool = False) -> Head:
    """The end of the chain, which nobody else moves while it is locked.

    Raises: StoreDamaged without one.
    """
    wanted = select(HEAD).where(HEAD.c.id == THE_HEAD)
    row = connection.execute(wanted.with_for_update() if locked else wanted).first()
    if row is None:
        raise StoreDamaged("the chain of records has no head")
    return Head(sequence=row.sequence, link=row.link)


def entries(connection: Connection) -> Iterator[Linked]:
    """The whole chain, from its beginning, a part at a time."""
    wanted = select(CHAIN).order_by(CHAIN.c.sequence).execution_options(yield_per=1_000)
    found = connection.execute(wanted)
    return (linked(row._mapping) for row in found)


def linked(row: Any) -> Linked:  # noqa: ANN401 - a mapping of columns, or of a line that was exported
    """An entry with its link, from its columns."""
    return Linked(
        sequence=row["sequence"],
        entry=ChainEntry(**{name: row[name] for name in ChainEntry.__slots__}),
        link=row["link"],
        signature=row["signature"],
    )
