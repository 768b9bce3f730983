"""What one decision takes, counted: the same on every machine, so that nothing adds to it unseen.

The ceilings are the counts of today, that of all calls with a little room for another Python; who
brings a count down brings its ceiling down. Nothing is remembered: each mass is one that nothing
else has.
"""

from __future__ import annotations

import cProfile
import gc
import pstats
from functools import cache
from typing import Any, Final

import pytest

from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from tests.case.builders import demo
from tests.case.flights import FIVE

COUNTED: Final = {
    "searches": ("performance/diversion.py", "_best"),
    "run-ins": ("flight/approach.py", "_approach"),
    "spreads": ("performance/spread.py", "need_spread"),
    "windows": ("weather/conditions.py", "meets"),
    "draws": ("attempt/draw.py", "__init__"),
    "landings": ("performance/landing.py", "landing"),
    "climbs": ("performance/climb.py", "climb"),
    "judged attempts": ("rules/__init__.py", "findings_on"),
    "calls": ("", ""),  # all of them
}
CEILINGS: Final = {
    "two alternates": {
        "searches": 2,
        "run-ins": 4,
        "spreads": 6,
        "windows": 11,
        "draws": 11,
        "landings": 9,
        "climbs": 6,
        "judged attempts": 12,
        "calls": 19_000,
    },
    "five alternates": {
        "searches": 2,
        "run-ins": 4,
        "spreads": 15,
        "windows": 20,
        "draws": 20,
        "landings": 18,
        "climbs": 6,
        "judged attempts": 21,
        "calls": 31_600,
    },
}
CASES: Final = {
    "two alternates": (demo("gear-stuck"), 60_373.731),
    "five alternates": (FIVE, 60_391.119),
}


@cache
def counted(name: str) -> dict[str, int]:
    """How often each of these is called in a decision with what an answer has by default."""
    body, mass_kg = CASES[name]
    asked = {**body, "include": [], "compare_rulebooks": False}
    recommend_mapping(case_from_mapping(asked))  # what is read once for all cases
    asked["aircraft"] = {**asked["aircraft"], "mass_kg": mass_kg}
    case, profile = case_from_mapping(asked), cProfile.Profile()
    gc.disable()  # what others hang on a collection (hypothesis does) would be counted, too
    try:
        profile.runcall(recommend_mapping, case)
    finally:
        gc.enable()
    stats: Any = pstats.Stats(profile)
    return {
        what: sum(
            calls
            for (of, _, called), (_, calls, *_) in stats.stats.items()
            if not file or (of.endswith(file) and called == function)
        )
        for what, (file, function) in COUNTED.items()
    }


@pytest.mark.parametrize(
    ("name", "what"), [(name, what) for name in CEILINGS for what in CEILINGS[name]]
)
def test_a_decision_takes_no_more_than_it_did(name: str, what: str) -> None:
    assert 0 < counted(name)[what] <= CEILINGS[name][what]


@pytest.mark.parametrize("what", [each for each in COUNTED if each != "searches"])
def test_with_more_alternates_it_takes_at_most_so_many_times_more(what: str) -> None:
    two, five = counted("two alternates")[what], counted("five alternates")[what]
    assert five <= two * 5 / 2


def test_all_alternates_are_one_search() -> None:
    assert counted("five alternates")["searches"] == counted("two alternates")["searches"]
