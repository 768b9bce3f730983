"""How much is worked out for one answer, counted in operations and never in seconds.

The same case comes to the same count on every machine, and so what is left out of an answer for
its size is the same as well.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

LEG: Final = 4  # attempts that take as long to judge as a leg to fly [ASSUMED]
MOST: Final = 12_000
"""Beyond it optional parts are left out. The largest case with everything takes so many in 1,300 to
1,600 fixed pieces of work (`tests/bench/yardstick.py`, a millisecond each where this was measured);
no case was seen to take more than 0.17 of them an operation, which would be two seconds."""


class Work:
    """A count that only grows: attempts judged, and legs flown by their weight.

    `heed` is called whenever it grows; it may raise, to end the work.
    """

    def __init__(self, heed: Callable[[], None] = lambda: None) -> None:
        self.done, self._heed = 0, heed

    def drawn(self) -> None:
        """What an arrival meets was drawn, before any attempt."""
        self.done += 1
        self._heed()

    def judged(self, attempts: int) -> None:
        """So many attempts were drawn and judged."""
        self.done += attempts
        self._heed()

    def flown(self, legs: int) -> None:
        """So many legs were flown."""
        self.done += LEG * legs
        self._heed()

    def has_room_for(self, more: int = 0) -> bool:
        """Whether so many more operations still are within the bound."""
        return self.done + more < MOST
