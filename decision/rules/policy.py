"""The operator's policy against the rulebook: tighten freely, loosen only with a stated reason."""

from __future__ import annotations

from dataclasses import dataclass
from operator import attrgetter
from typing import Final

from decision.attempt.minima import Scheme
from decision.case.types import HazardRating, Policy
from decision.errors import Fault
from decision.rulebooks.rulebook import Rulebook
from decision.weather.hazards import GRAVEST_FIRST, kind_named
from decision.weather.readings import HazardWeight

CODE: Final = "looser_than_rulebook"
UNKNOWN_SCHEME: Final = "not_in_rulebook"
SCHEME_ROWS: Final = ("planning_scheme", "planning_scheme_choice")


LANDING_FACTOR_ROW: Final = "landing_arrival_factor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounded:
    """A field of the policy with the row that bounds it, and the side that is stricter."""

    field: str
    row: str
    higher_is_stricter: bool


BOUNDED: Final = (
    Bounded(field="landing_factor", row=LANDING_FACTOR_ROW, higher_is_stricter=True),
    Bounded(
        field="gate_report_max_age_min", row="gate_report_max_age_min", higher_is_stricter=False
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """A field of the policy that is looser than the rulebook, with the operator's reason."""

    field: str
    value: float
    limit: float
    sense: str
    citation: str
    reason: str | None

    @property
    def text(self) -> str:
        """What deviates, by how much, and why: as it is printed in the answer."""
        why = self.reason or "no reason given"
        return (
            f"policy {self.field} {self.value:g}, rulebook {self.sense} {self.limit:g} "
            f"{self.citation}: {why}"
        )


def landing_factor(policy: Policy, rulebook: Rulebook) -> float:
    """The factor on a landing distance: the operator's where it has one, else that of the row."""
    own = policy.landing_factor
    return rulebook.number(LANDING_FACTOR_ROW) if own is None else own


def deviations(policy: Policy, rulebook: Rulebook) -> tuple[Deviation, ...]:
    """Every field of the policy that is looser than the rulebook, with its reason if any."""
    reason = (policy.deviation_reason or "").strip() or None
    found = []
    for bounded in BOUNDED:
        stated, limit = attrgetter(bounded.field)(policy), rulebook.number(bounded.row)
        value = limit if stated is None else float(stated)
        if (value < limit) if bounded.higher_is_stricter else (value > limit):
            found.append(
                Deviation(
                    field=bounded.field,
                    value=value,
                    limit=limit,
                    sense=">=" if bounded.higher_is_stricter else "<=",
                    citation=rulebook.row(bounded.row).citation,
                    reason=reason,
                )
            )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lightened:
    """A kind of hazardous weather that the policy weighs lighter than usual."""

    index: int
    rating: HazardRating
    usual: HazardWeight
    reason: str | None

    @property
    def text(self) -> str:
        """What deviates, from what, and why: as it is printed in the answer."""
        why = self.reason or "no reason given"
        words = self.rating.phenomenon.replace("_", " ")
        return f"policy weighs {words} as {self.rating.weight}, usual is {self.usual}: {why}"


def lightened(policy: Policy) -> tuple[Lightened, ...]:
    """Every kind of hazardous weather that the policy weighs lighter than data/tables/hazards."""
    reason = (policy.deviation_reason or "").strip() or None
    return tuple(
        Lightened(index=index, rating=each, usual=usual, reason=reason)
        for index, each in enumerate(policy.hazard_weights)
        if GRAVEST_FIRST.index(usual := kind_named(each.phenomenon).weight)
        < GRAVEST_FIRST.index(each.weight)
    )


def scheme_of(policy: Policy, rulebook: Rulebook) -> Scheme:
    """How planning minima are made: as the operator chose, where this rulebook knows that way."""
    own, other = (Scheme(rulebook.word(row)) for row in SCHEME_ROWS)
    return other if policy.planning_scheme == other else own


def scheme_faults(policy: Policy, rulebook: Rulebook) -> tuple[Fault, ...]:
    """A fault for a way of making planning minima that this rulebook does not know."""
    known = tuple(rulebook.word(row) for row in SCHEME_ROWS)
    if policy.planning_scheme in (None, *known):
        return ()
    return (
        Fault(
            pointer="/policy/planning_scheme",
            code=UNKNOWN_SCHEME,
            message=f"the rulebook {rulebook.id} has no {policy.planning_scheme} planning minima",
            accepted=" or ".join(known),
        ),
    )


def policy_faults(policy: Policy, rulebook: Rulebook) -> tuple[Fault, ...]:
    """A fault for every field that is looser than the rulebook without a stated reason."""
    bounded = tuple(
        Fault(
            pointer=f"/policy/{each.field}",
            code=CODE,
            message=f"{each.value:g} is looser than the rulebook {rulebook.id} {each.citation}",
            accepted=f"{each.sense} {each.limit:g}, or any value with policy.deviation_reason",
        )
        for each in deviations(policy, rulebook)
        if each.reason is None
    )
    hazards = tuple(
        Fault(
            pointer=f"/policy/hazard_weights/{each.index}/weight",
            code=CODE,
            message=f"{each.rating.weight} is lighter than {each.usual}, which is usual for "
            f"{each.rating.phenomenon}",
            accepted=f"{each.usual} or graver, or any weight with policy.deviation_reason",
        )
        for each in lightened(policy)
        if each.reason is None
    )
    return bounded + hazards
