"""A thin client of the service over `requests`; see the README. Needs nothing else of this package.

One client is for one thread. What it does by itself: connections are used again, every wait has an
end, what is safe to repeat is repeated, and every recording has a key so that it is.
"""

from __future__ import annotations

from service.client.calls import CallFailed, CutOff, NoAnswer, RequestRefused
from service.client.decisions import Client
from service.client.streams import StreamedEvent

__all__ = ["CallFailed", "Client", "CutOff", "NoAnswer", "RequestRefused", "StreamedEvent"]
