"""State that is older than the case: what was carried to `as_of`, how old it is, how old it may be.

Whoever decides a case again has not been told everything anew. What was carried stands in the case
itself (`Case.carried`), so that the same body gets the same answer for ever.
"""

from __future__ import annotations

from typing import Final

from decision.case.types import AGEING, TO_ALTERNATE, Alternate, CarriedValue, Case
from decision.quantities import Position
from decision.windows import minutes_between

STATE_MAX_AGE_MIN: Final = 10.0  # [ASSUMED] where the operator's policy says nothing
OF_ALTERNATES: Final = TO_ALTERNATE.partition("{")[0]


def state_max_age_min(case: Case) -> float:
    """Age up to which carried state may be decided on."""
    own = case.policy.state_max_age_min
    return STATE_MAX_AGE_MIN if own is None else own


def age_min(case: Case, value: CarriedValue) -> float:
    """How long before `as_of` a carried value was given."""
    return minutes_between(value.given_at, case.as_of)


def state_age_min(case: Case) -> float:
    """Age of the oldest part of the state; 0 where nothing of it is carried."""
    values = () if case.carried is None else case.carried.values
    ages = (
        age_min(case, each)
        for each in values
        if each.field in AGEING or each.field.startswith(OF_ALTERNATES)
    )
    return max(ages, default=0.0)


def is_state_too_old(case: Case) -> bool:
    """Whether the state is older than the policy decides on."""
    return state_age_min(case) > state_max_age_min(case)


def is_state_unknown(case: Case) -> bool:
    """Whether the state was carried for too long, or over something that nobody knows."""
    lost = case.carried is not None and case.carried.lost is not None
    return lost or is_state_too_old(case)


def may_be_go(case: Case) -> bool:
    """Whether nothing of the state keeps a plain GO away."""
    return verdict_before(case) in (None, "GO") and not is_state_unknown(case)


def verdict_before(case: Case) -> str | None:
    """The verdict than which none is to be better; None: whatever follows from what is new."""
    before = None if case.carried is None else case.carried.no_better_than
    return None if before is None else before.verdict


def alternate_of(field: str, case: Case) -> Alternate | None:
    """The alternate that a carried value is of; None where it is of none in the case."""
    if not field.startswith(OF_ALTERNATES):
        return None
    index = int(field.split("/")[2])
    return case.alternates[index] if index < len(case.alternates) else None


def carried_value(case: Case, field: str) -> float | str | None:
    """What was carried, as a figure or in words; None where the case has no such value."""
    leg = alternate_of(field, case)
    if leg is not None:
        return leg.track_from_present_nm
    part, name = field.split("/")[1:]
    value: object = getattr(getattr(case, part), name)
    if isinstance(value, Position):
        return f"{value.latitude_deg:.4f}, {value.longitude_deg:.4f}"
    return value if value is None or isinstance(value, float) else str(value)
