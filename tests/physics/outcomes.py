"""What comes of a flight, as tests ask for it: its figures, or why there are none."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, ParamSpec

from decision import performance
from decision.performance import CannotFly, Flown, Outcome

P = ParamSpec("P")


class Seen(Flown, frozen=True, kw_only=True, gc=False):
    """A flight with its figures; of one that cannot be flown they are no numbers."""

    limited_by: str | None = None
    unknown: bool = False

    @property
    def feasible(self) -> bool:
        """Whether it can be flown."""
        return self.limited_by is None


def seen(outcome: Outcome) -> Seen:
    """One value for any outcome."""
    if isinstance(outcome, Flown):
        return Seen(**{name: getattr(outcome, name) for name in Flown.__struct_fields__})
    known = isinstance(outcome, CannotFly)
    return Seen(
        fuel_kg=math.nan,
        time_min=math.nan,
        distance_nm=math.nan,
        pressure_altitude_ft=math.nan,
        cas_kt=math.nan,
        end_mass_kg=math.nan,
        steps=(),
        limited_by=outcome.limited_by if isinstance(outcome, CannotFly) else outcome.what,
        unknown=not known,
    )


def _seen(fly: Callable[P, Outcome]) -> Callable[P, Seen]:
    def asked(*args: P.args, **kwargs: P.kwargs) -> Seen:
        return seen(fly(*args, **kwargs))

    return asked


fly_configured = _seen(performance.fly_configured)
fly_diversion = _seen(performance.fly_diversion)
fly_go_around = _seen(performance.fly_go_around)
fly_hold = _seen(performance.fly_hold)
fly_level_limit = _seen(performance.fly_level_limit)
fly_run_in = _seen(performance.fly_run_in)


def fly_diversions(*args: Any, **kwargs: Any) -> tuple[Seen, ...]:
    """Each of them."""
    return tuple(map(seen, performance.fly_diversions(*args, **kwargs)))
