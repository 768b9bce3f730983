"""How much is worked out for one answer, counted in operations and never in seconds.

The same case comes to the same count on every machine, and so what is left out of an answer for
its size is the same as well.
"""

from __future__ import annotations

from typing import Final

LEG: Final = 4  # attempts that take as long to judge as a leg to fly [measured: tests/bench]
MOST: Final = 12_000  # beyond it optional parts are left out: a second and a half [ASSUMED]


class Work:
    """A count that only grows: attempts judged, and legs flown by their weight."""

    def __init__(self) -> None:
        self.done = 0

    def judged(self, attempts: int) -> None:
        """So many attempts were drawn and judged."""
        self.done += attempts

    def flown(self, legs: int) -> None:
        """So many legs were flown."""
        self.done += LEG * legs

    def has_room_for(self, more: int = 0) -> bool:
        """Whether so many more operations still are within the bound."""
        return self.done + more < MOST
