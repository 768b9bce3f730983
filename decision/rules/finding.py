"""A finding carries its argument: what was compared with which limit, by how much, by which rule.

The sentence is built from the figures, never typed, so it cannot disagree with them. Margins are
positive when there is room, for every rule. In text a margin, the value it comes from
and the limit are rounded against the aircraft; what is missing is the difference of the two
figures shown, so that a reader who subtracts them finds it.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.rulebooks.rulebook import Force
from decision.rules.row import Breach, RuleRow


class Outcome(StrEnum):
    """What a rule says of a course. UNKNOWN never counts as PASS."""

    PASS = "PASS"  # noqa: S105 - an outcome, not a password
    FAIL = "FAIL"
    UNKNOWN = "UNKNOWN"
    NOT_APPLICABLE = "NOT_APPLICABLE"


class Sense(StrEnum):
    """Which side of the limit is good."""

    AT_LEAST = ">="
    AT_MOST = "<="


# Looking up a member takes ten times as long as a name, and every finding is asked several times.
PASS: Final = Outcome.PASS
FAIL: Final = Outcome.FAIL
UNKNOWN: Final = Outcome.UNKNOWN
NOT_APPLICABLE: Final = Outcome.NOT_APPLICABLE
AT_LEAST: Final = Sense.AT_LEAST
AT_MOST: Final = Sense.AT_MOST
GUIDANCE: Final = Force.GUIDANCE


Cause = tuple[str, ...]
"""What one thing would have to be known: a place (empty: everywhere) and the names of it."""

# Smallest step shown per unit: the accuracy of the model allows no more digits.
SHOWN_STEP: Final = {
    "kg": 10.0,
    "m": 10.0,
    "ft": 10.0,
    "percent": 0.1,
    "min": 1.0,
    "kt": 1.0,
    "NM": 0.1,
    "MJ": 1.0,
    "code": 1.0,
    "category": 1.0,
}
FINEST_STEP: Final = 1.0


def shown(value: float, unit: str, *, step: float | None = None) -> str:
    """A figure to the step of its unit, or to the one given, with the unit."""
    step = step or _step(unit)
    return _in_steps(round(value / step), step, unit)


def shown_down(value: float, unit: str, *, step: float | None = None) -> str:
    """A figure rounded down to the step of its unit, with the unit: for margins."""
    step = step or _step(unit)
    return _in_steps(_steps_down(value, step), step, unit)


def shown_up(value: float, unit: str, *, step: float | None = None) -> str:
    """A figure rounded up to the step of its unit, with the unit: for what a maximum holds."""
    step = step or _step(unit)
    return _in_steps(_steps_up(value, step), step, unit)


def shown_short(low: float, high: float, unit: str, *, step: float | None = None) -> str:
    """By how much the one is less than the other, as both are shown: rounded down and up."""
    step = step or _step(unit)
    return _in_steps(_steps_up(high, step) - _steps_down(low, step), step, unit)


ROUNDING_NOISE: Final = 1e-9  # 0.3 / 0.1 is a little less than 3


def _steps_down(value: float, step: float) -> int:
    return math.floor(value / step + ROUNDING_NOISE)


def _steps_up(value: float, step: float) -> int:
    return math.ceil(value / step - ROUNDING_NOISE)


def _step(unit: str) -> float:
    return SHOWN_STEP.get(unit, FINEST_STEP)


def _in_steps(steps: int, step: float, unit: str) -> str:
    decimals = 0 if step >= 1.0 else 1
    return f"{steps * step:.{decimals}f} {unit}"


class Judgement(Struct, frozen=True, kw_only=True, gc=False):
    """What a check found, before the registry puts the rule's name and citation to it.

    `what` is the thing compared, or the whole sentence where no figures are; `given`: how it is
    then, which the figure follows after a colon; `notes` follow both. The sentence is put together
    only when somebody reads it: most findings are never read. `breach`:
    what breaking the rule means here, where that is not the ordinary thing. `lacks`: the names of
    what would have to be known, where it is UNKNOWN. `force`: how the rule binds here, where that
    is not how its row does. `step`: to what its figures are shown, where not to that of the unit.
    """

    outcome: Outcome
    what: str
    given: str = ""
    value: float | None = None
    limit: float | None = None
    sense: Sense | None = None
    unit: str = ""
    notes: tuple[str, ...] = ()
    breach: Breach | None = None
    lacks: tuple[str, ...] = ()
    force: Force | None = None
    step: float | None = None

    @property
    def margin(self) -> float | None:
        """Room to the limit; negative when it is broken, None when either figure is missing."""
        if self.value is None or self.limit is None or self.sense is None:
            return None
        room = self.value - self.limit
        return room if self.sense is AT_LEAST else -room

    @property
    def text(self) -> str:
        """The sentence."""
        return "; ".join((self._compared(), *self.notes))

    @property
    def thing(self) -> str:
        """What is compared, and how it is then."""
        return f"{self.what}, {self.given}" if self.given else self.what

    def _compared(self) -> str:
        margin = self.margin
        if margin is None or self.value is None or self.limit is None:
            return self.what
        at_least = self.sense is AT_LEAST
        bound = "minimum" if at_least else "maximum"
        thing = f"{self.thing}:" if self.given else self.what
        against = shown_down if at_least else shown_up
        value = against(self.value, self.unit, step=self.step)
        beyond = shown_up if at_least else shown_down
        limit = beyond(self.limit, self.unit, step=self.step)
        if margin >= 0.0:
            room = shown_down(margin, self.unit, step=self.step)
            return f"{thing} {value}, {bound} {limit}: margin {room}"
        side = "below" if at_least else "above"
        low, high = sorted((self.value, self.limit))
        short = shown_short(low, high, self.unit, step=self.step)
        return f"{thing} {value} is {short} {side} the {bound} of {limit}"

    def meaning(self, breach: Breach) -> Judgement:
        """The same judgement, with what breaking the rule means here."""
        return replace(self, breach=breach)

    def binding(self, force: Force | None) -> Judgement:
        """The same judgement, with how it binds here; None: as its row does."""
        return replace(self, force=force)

    def in_steps(self, step: float) -> Judgement:
        """The same judgement, its figures shown to another step."""
        return replace(self, step=step)

    def adding(self, words: str) -> Judgement:
        """The same judgement with something more to say."""
        return replace(self, notes=(*self.notes, words))


class Stated(Struct, frozen=True, kw_only=True, gc=False):
    """A rule as a rulebook states it: its own row, where the rulebook says so, how it binds.

    `force` is that of the rulebook's row, or POLICY where the operator has adopted guidance.
    """

    by: RuleRow
    citation: str
    force: Force


class Finding(Struct, frozen=True, kw_only=True, gc=False):
    """A judgement with the rule that made it and the place it speaks of."""

    stated: Stated
    at: str
    judgement: Judgement

    @property
    def by(self) -> RuleRow:
        """The rule that made it, with all that is known of it."""
        return self.stated.by

    @property
    def rule(self) -> str:
        """The rule's code."""
        return self.stated.by.code

    @property
    def title(self) -> str:
        """The rule's title."""
        return self.stated.by.title

    @property
    def citation(self) -> str:
        """Where the rulebook says so."""
        return self.stated.citation

    @property
    def outcome(self) -> Outcome:
        """PASS, FAIL, UNKNOWN or NOT_APPLICABLE."""
        return self.judgement.outcome

    @property
    def breach(self) -> Breach:
        """What breaking the rule means here."""
        return self.by.breach if self.judgement.breach is None else self.judgement.breach

    @property
    def force(self) -> Force:
        """How it binds here: as its row does, unless the judgement says otherwise."""
        return self.stated.force if self.judgement.force is None else self.judgement.force

    @property
    def binds(self) -> bool:
        """Whether breaking it is illegal: guidance binds only where breaking it endangers."""
        return self.force is not GUIDANCE or self.breach.endangers

    @property
    def cause(self) -> Cause:
        """What one thing has to be known: the same for all findings that lack the same."""
        lacks = self.judgement.lacks or (self.by.asked.lacks,)
        return (self.at, *lacks)

    @property
    def text(self) -> str:
        """The sentence."""
        return self.judgement.text

    @property
    def margin(self) -> float | None:
        """Room to the limit."""
        return self.judgement.margin
