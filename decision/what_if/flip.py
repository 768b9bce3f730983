"""What would change the answer: for each input the value at which the verdict flips.

Found on the real decision. The present value has one verdict, an end of the range another; between
them the search probes where a margin passes through zero on the straight line between two probes
that were made, and halves the gap where that does not narrow it. A flip point is the first value,
to one step, that was seen to give the other verdict, and the step before it was seen not to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import count
from typing import Final

from decision.case import Case
from decision.decide.decision import Decided, Verdict
from decision.decide.measures import margin_p95_kg, policy_margin_kg
from decision.flight.tried import AS_IT_IS, WhatIf
from decision.turning import Probe, middle, turn
from decision.what_if.vary import INPUTS, Better, Input

# Guesses by straight line in one search; after them the gap is halved, whatever the margins do.
MOST_GUESSES: Final = 6
POLICY: Final = "policy"  # the policy's margin, beside the codes of rules


@dataclass(frozen=True, kw_only=True)
class ProbeSeen:
    """What was decided for one value of an input."""

    decided: Decided

    @property
    def verdict(self) -> Verdict:
        """The verdict on it."""
        return self.decided.decision.verdict

    @cached_property
    def margins(self) -> Mapping[Margin, float]:
        """Every margin of it; most ends of a range show the verdict alone, and need none."""
        return dict(_margins(self.decided))


Margin = tuple[str, str, str]
"""Which margin: by course, by place and by rule."""

Decide = Callable[[Case, WhatIf], Decided]
Room = Callable[[], bool]
At = Callable[[int], ProbeSeen]


def _margins(decided: Decided) -> Iterator[tuple[Margin, float]]:
    for each in decided.courses:
        label = each.course.label
        for finding in each.found:
            margin = finding.judgement.margin
            if margin is not None:
                yield (label, finding.at, finding.stated.by.code), margin
        margin_kg = margin_p95_kg(each.course, decided.situation)
        if margin_kg is not None:
            wanted_kg = policy_margin_kg(each.course, decided.situation)
            yield (label, each.course.icao, POLICY), margin_kg - wanted_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class FlipPoint:
    """The nearest value of an input with another verdict; None when none in its range has.

    None, too, where places differ, so that the present value everywhere is another case already.
    """

    input: str
    present: float | None
    flips_at: float | None
    to_verdict: Verdict | None
    unit: str


class _NoRoom(Exception):
    """No more probes: what has been worked out for the answer is enough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlipPoints:
    """Those of the inputs that were looked at, in the order of the table, and the other inputs."""

    found: tuple[FlipPoint, ...]
    left_out: tuple[str, ...]


def flip_points(
    answer: Decided,
    decide: Decide,
    has_room: Room = lambda: True,
    *,
    inputs: Sequence[Input] = INPUTS,
) -> FlipPoints:
    """One flip point for each input, as long as there is room for another probe."""
    found: list[FlipPoint] = []
    tried = answer.situation.what_if

    def probe(case: Case, what_if: WhatIf) -> Decided:
        if not has_room():
            raise _NoRoom
        return decide(case, what_if.beside(tried))

    for number, each in enumerate(inputs):
        try:
            found.append(_flip(each, answer, probe))
        except _NoRoom:
            others = tuple(other.name for other in inputs[number:])
            return FlipPoints(found=tuple(found), left_out=others)
    return FlipPoints(found=tuple(found), left_out=())


def _flip(varied: Input, answer: Decided, decide: Decide) -> FlipPoint:
    """Try the ends of the range that can differ; of two flips the nearer one counts."""
    present = varied.present(answer)
    nearest = None if present is None else _nearest(varied, present, answer, decide)
    value, verdict = nearest or (None, None)
    return FlipPoint(
        input=varied.name, present=present, flips_at=value, to_verdict=verdict, unit=varied.unit
    )


def _nearest(
    varied: Input, present: float, answer: Decided, decide: Decide
) -> tuple[float, Verdict] | None:
    case, verdict = answer.situation.case, answer.decision.verdict
    low, high = varied.span(answer)
    start = min(max(present, low), high)
    found: list[tuple[float, Verdict]] = []
    for end in _ends(varied, verdict, low, high):
        steps = math.floor(abs(end - start) / varied.step + STEP_NOISE)
        direction = math.copysign(varied.step, end - start)

        def at(step: int, direction: float = direction) -> ProbeSeen:
            tried, what_if = varied.tried(case, start + step * direction)
            if tried == case and what_if == AS_IT_IS:
                return ProbeSeen(decided=answer)
            return ProbeSeen(decided=decide(tried, what_if))

        flip = _first_flip(at, verdict, steps)
        if flip is not None:
            found.append((start + flip[0] * direction, flip[1]))
    return min(found, key=lambda flip: abs(flip[0] - present), default=None)


STEP_NOISE: Final = 1e-9


def _ends(varied: Input, verdict: Verdict, low: float, high: float) -> tuple[float, ...]:
    """The ends that can have another verdict: of the best only the worse end, and the reverse."""
    worse, better = (low, high) if varied.better is Better.HIGHER else (high, low)
    if varied.better is Better.EITHER or verdict not in {Verdict.GO, Verdict.NO_GO}:
        return low, high
    return (worse,) if verdict is Verdict.GO else (better,)


def _first_flip(at: At, verdict: Verdict, steps: int) -> tuple[int, Verdict] | None:
    """The step nearest to the start that has another verdict; None when the end has none."""
    if steps == 0:
        return None
    other = Probe(value=steps, seen=at(steps))
    if other.seen.verdict is verdict:
        return None
    same = Probe(value=0, seen=at(0))
    if same.seen.verdict is not verdict:
        return None
    guesses = count()

    def between(near: Probe[ProbeSeen], far: Probe[ProbeSeen]) -> float:
        guess = _guess(near, far) if next(guesses) < MOST_GUESSES else None
        return middle(near, far) if guess is None else float(guess)

    _, flip = turn(
        lambda step: at(round(step)),
        lambda seen: seen.verdict is verdict,
        same,
        other,
        step=1.0,
        between=between,
    )
    return round(flip.value), flip.seen.verdict


def _guess(same: Probe[ProbeSeen], other: Probe[ProbeSeen]) -> int | None:
    """A step on one side of a place where a margin is zero, if margins change evenly.

    Of several such steps the middle one: half of them fall away with each probe.
    """
    low, high = same.value, other.value
    guesses = set()
    for name, margin in same.seen.margins.items():
        then = other.seen.margins.get(name, margin)
        if (margin < 0.0) is not (then < 0.0):
            crossing = math.floor(low) + math.floor(
                (high - low) * margin / (margin - then) + STEP_NOISE
            )
            guesses |= {crossing, crossing + 1}
    inside = sorted(step for step in guesses if low < step < high)
    return inside[len(inside) // 2] if inside else None
