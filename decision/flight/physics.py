"""The physics that courses are flown with, each answer remembered for a while.

The functions are pure and their arguments values, so a remembered answer is the answer. One
decision asks some things twice (the diversions of the last clean point are those of its penalty);
flip points, rulebooks and delays ask almost everything again. Results are small; a process keeps
some ten megabytes of them.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from decision import performance

KEPT: Final = 2048

approach_allowance = lru_cache(maxsize=KEPT)(performance.approach_allowance)
approach_speed_kt = lru_cache(maxsize=KEPT)(performance.approach_speed_kt)
climb = lru_cache(maxsize=KEPT)(performance.climb)
final_reserve_kg = lru_cache(maxsize=KEPT)(performance.final_reserve_kg)
fly_configured = lru_cache(maxsize=KEPT)(performance.fly_configured)
fly_diversions = lru_cache(maxsize=KEPT)(performance.fly_diversions)
fly_go_around = lru_cache(maxsize=KEPT)(performance.fly_go_around)
fly_hold = lru_cache(maxsize=KEPT)(performance.fly_hold)
fly_level_limit = lru_cache(maxsize=KEPT)(performance.fly_level_limit)
fly_run_in = lru_cache(maxsize=KEPT)(performance.fly_run_in)
holding_flow_kg_per_h = lru_cache(maxsize=KEPT)(performance.holding_flow_kg_per_h)
landing = lru_cache(maxsize=KEPT)(performance.landing)
level_limit = lru_cache(maxsize=KEPT)(performance.level_limit)
