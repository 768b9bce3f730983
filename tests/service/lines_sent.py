"""How the generator of requests sends a body of lines: it knows no such media type by itself."""

from __future__ import annotations

from typing import Any

import schemathesis

from service.negotiation import JSON_LINES


@schemathesis.serializer(*JSON_LINES)
def as_lines(_context: Any, value: Any) -> bytes:
    """A generated body of lines as it is sent: text already."""
    return str(value).encode()
