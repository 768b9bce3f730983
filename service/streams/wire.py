"""Events as lines: server-sent events, section 9.2 of the HTML standard.

The id is the number of the event in the store. A block that has an id and no data is no event to a
caller, but the caller's last id moves on with it: so one who was not sent anything for a day is
still known to have missed nothing.
"""

from __future__ import annotations

import re
from typing import Final

RETRY_MS: Final = 1_000  # [ASSUMED] after which a caller comes back
RESET: Final = "reset"
"""The kind of the event that tells the present state instead of what came before."""
_LINE_END: Final = re.compile(r"\r\n|\r|\n")  # those that the standard names


def event_block(*, sequence: int, kind: str, body: str) -> bytes:
    """An event; `body` stays what it is, whatever lines it has."""
    data = "".join(f"data: {line}\n" for line in _LINE_END.split(body))
    return f"id: {sequence}\nevent: {kind}\n{data}\n".encode()


def opening_block(*, sequence: int | None) -> bytes:
    """What comes first: when to come back, and the number up to which nothing is told any more."""
    known = "" if sequence is None else f"id: {sequence}\n"
    return f"retry: {RETRY_MS}\n{known}\n".encode()


def heartbeat_block(*, sequence: int) -> bytes:
    """A comment, so that a connection that is dead is noticed, and the number reached."""
    return f": heartbeat\nid: {sequence}\n\n".encode()


def sequence_in(last_event_id: str) -> int | None:
    """The number that a caller was told last; None: it is none of ours."""
    digits = last_event_id.isascii() and last_event_id.isdigit() and len(last_event_id) < 19  # noqa: PLR2004 - below 2**63
    return int(last_event_id) if digits else None
