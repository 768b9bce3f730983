"""The trace that a request belongs to, as W3C Trace Context has it (Recommendation, level 1).

A caller's `traceparent` is taken up and passed on to whatever is asked for the request; without one
a trace begins here. Its ids stand in the log line.
"""

from __future__ import annotations

import re
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Final

from service.clock import Entropy

HEADER: Final = "traceparent"
PATTERN: Final = re.compile(r"(?!ff)[0-9a-f]{2}-([0-9a-f]{32})-([0-9a-f]{16})-([0-9a-f]{2})(-.*)?")
VERSION: Final = "00"
TRACE_BYTES: Final = 16
SPAN_BYTES: Final = 8
NOT_SAMPLED: Final = "00"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """A trace, our part of it, and whether somebody records it.

    `parent_id`: the part that ours is of; None where the trace begins here.
    """

    trace_id: str
    span_id: str
    flags: str
    parent_id: str | None = None

    @property
    def header(self) -> str:
        """What is passed on."""
        return f"{VERSION}-{self.trace_id}-{self.span_id}-{self.flags}"


PRESENT: Final[ContextVar[Trace | None]] = ContextVar("trace", default=None)


def trace_of(given: str | None, *, entropy: Entropy) -> Trace:
    """The trace of a request by its header; one of our own where that is missing or wrong."""
    found = PATTERN.fullmatch(given or "")
    valid = found is not None and set(found[1]) != {"0"} and set(found[2]) != {"0"}
    parent_id: str | None
    if found is not None and valid:
        trace_id, parent_id, flags = found[1], found[2], found[3]
    else:
        trace_id, parent_id, flags = entropy(TRACE_BYTES).hex(), None, NOT_SAMPLED
    return Trace(
        trace_id=trace_id, span_id=entropy(SPAN_BYTES).hex(), flags=flags, parent_id=parent_id
    )
