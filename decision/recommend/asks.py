"""What to ask, of whom, and by when: the unknowns that would turn the answer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Final

from decision.courses.situation import Situation
from decision.recommend.answer import Ask, Basis, Decision, Do
from decision.recommend.completions import EVERYWHERE, WEATHER
from decision.rules.finding import Cause

CONTROL_OR_DISPATCH: Final = "air traffic control or dispatch"
DISPATCH: Final = "dispatch"
CREW: Final = "the crew"
_WHOM: Final[Mapping[str, str]] = MappingProxyType(
    {
        WEATHER: CONTROL_OR_DISPATCH,
        "runway condition": CONTROL_OR_DISPATCH,
        "oxygen": CREW,
        "rate of the fuel leak": CREW,
        "quantity of fuel that cannot be used": CREW,
        "quantity of fuel on board": CREW,
    }
)
_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        WEATHER: "the latest report and forecast",
        "AD": "hours, runways and rescue services",
        "CM": "the state of the runways",
        "ER": "the route and its distance",
        "FU": "the fuel on board",
        "LD": "wind, temperature, QNH and runway condition",
        "LM": "wind, temperature and QNH",
        "MA": "the chart of the missed approach",
        "oxygen": "minutes of oxygen left for crew and passengers",
    }
)


def asks_of(decision: Decision, situation: Situation, *, by_at: datetime | None) -> tuple[Ask, ...]:
    """Each thing to ask once, in the order of the causes; a report where one is awaited."""
    asked = [_ask(cause, by_at) for cause in decision.asks]
    if decision.basis in AWAITING or (decision.do is Do.HOLD and not asked):
        here = situation.case.destination.aerodrome.icao
        asked.append(_ask((here, WEATHER), by_at))
    return tuple(dict.fromkeys(asked))


# The place here is closed by what a newer report may lift.
AWAITING: Final = frozenset({Basis.WAIT, Basis.APPROACH_BARRED, Basis.NOT_FIT_HERE})


def _ask(cause: Cause, by_at: datetime | None) -> Ask:
    place, *lacks = cause
    words = " and ".join(dict.fromkeys(_WORDS.get(each, each) for each in lacks))
    whom = next((_WHOM[each] for each in lacks if each in _WHOM), DISPATCH)
    what = words if place == EVERYWHERE else f"{words} of {place}"
    return Ask(what=what, whom=whom, by_at=by_at)
