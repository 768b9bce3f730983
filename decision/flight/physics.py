"""The physics that courses are flown with, each answer remembered for a while.

The functions are pure and their arguments values, so a remembered answer is the answer. One
decision asks some things twice (the diversions of the last clean point are those of its penalty);
flip points, rulebooks and delays ask almost everything again. Results are small; a process keeps
some ten megabytes of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from decision import performance
from decision.performance import Configuration, Leaving, Objective, Outcome
from decision.profile import Profile

KEPT: Final = 2048

approach_allowance = lru_cache(maxsize=KEPT)(performance.approach_allowance)
approach_speed_kt = lru_cache(maxsize=KEPT)(performance.approach_speed_kt)
climb = lru_cache(maxsize=KEPT)(performance.climb)
final_reserve_kg = lru_cache(maxsize=KEPT)(performance.final_reserve_kg)
fly_configured = lru_cache(maxsize=KEPT)(performance.fly_configured)
fly_go_around = lru_cache(maxsize=KEPT)(performance.fly_go_around)
fly_hold = lru_cache(maxsize=KEPT)(performance.fly_hold)
fly_level_limit = lru_cache(maxsize=KEPT)(performance.fly_level_limit)
fly_run_in = lru_cache(maxsize=KEPT)(performance.fly_run_in)
holding_flow_kg_per_h = lru_cache(maxsize=KEPT)(performance.holding_flow_kg_per_h)
landing = lru_cache(maxsize=KEPT)(performance.landing)
level_limit = lru_cache(maxsize=KEPT)(performance.level_limit)


def fly_from_each(
    profile: Profile,
    *,
    configuration: Configuration,
    leaving: Sequence[Leaving],
    leak_kg_per_h: float,
    objective: Objective,
) -> tuple[tuple[Outcome, ...], ...]:
    """From each place its ways, remembered for each; those that are new are searched together."""
    rooms = [_room(profile, configuration, each, leak_kg_per_h, objective) for each in leaving]
    new = [i for i, room in enumerate(rooms) if not room]
    if new:
        flown = performance.fly_from_each(
            profile,
            configuration=configuration,
            leaving=[leaving[i] for i in new],
            leak_kg_per_h=leak_kg_per_h,
            objective=objective,
        )
        for i, outcomes in zip(new, flown, strict=True):
            rooms[i].append(outcomes)
    return tuple([room[0] for room in rooms])


@lru_cache(maxsize=KEPT)
def _room(
    _profile: Profile,
    _configuration: Configuration,
    _leaving: Leaving,
    _leak_kg_per_h: float,
    _objective: Objective,
) -> list[tuple[Outcome, ...]]:
    """Where the answer to a question is kept, and nothing until it is there."""
    return []
