"""When a watch is looked at next, whatever is heard until then."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any, Final

from decision.case.carried import STATE_MAX_AGE_MIN
from service.store.watching import Due

Data = Mapping[str, Any]

BEFORE_IT_ENDS: Final = timedelta(seconds=30)  # [ASSUMED] of what is about to lose its validity
AT_LAST: Final = timedelta(minutes=2)  # [ASSUMED] without any other reason
AT_FIRST: Final = timedelta(seconds=5)  # [ASSUMED] so that nothing is looked at again and again
LATE: Final = timedelta(minutes=1)  # [ASSUMED] a decision for an earlier moment is made anew
AGAIN_FIRST: Final = timedelta(seconds=5)  # [ASSUMED] after a look that came to nothing; doubled
A_SECOND: Final = timedelta(seconds=1)


def next_look_at(body: Data, answer: Data, *, now: datetime) -> tuple[datetime, Due]:
    """The moment, and why; `body`: the case that was decided.

    A moment that has passed is no reason any more; a decision for a moment that has passed is made
    anew at once.
    """
    if now - datetime.fromisoformat(answer["as_of"]) > LATE:
        return now, Due.ROUTINE
    reasons = [(at, why) for at, why in _reasons(body, answer) if at > now]
    at, why = min(reasons, default=(now + AT_LAST, Due.ROUTINE))
    if at > now + AT_LAST:
        return now + AT_LAST, Due.ROUTINE
    return max(at, now + AT_FIRST), why


def again_at(failures: int, *, now: datetime) -> datetime:
    """When to try again after so many failures in a row."""
    return now + min(AGAIN_FIRST * float(2 ** min(failures, 10)), AT_LAST)


def _reasons(body: Data, answer: Data) -> Iterator[tuple[datetime, Due]]:
    yield datetime.fromisoformat(answer["next_look"]["at"]), Due.NEXT_LOOK
    ends_at = datetime.fromisoformat(answer["valid_until"]["at"])
    yield ends_at - BEFORE_IT_ENDS, Due.VALID_UNTIL
    yield ends_at, Due.VALID_UNTIL
    yield _state_ages_at(body), Due.STATE_AGES


def _state_ages_at(body: Data) -> datetime:
    """The first moment at which the state is too old to be decided on."""
    values = (body.get("carried") or {}).get("values") or ()
    given = [str(each["given_at"]) for each in values] or [str(body["as_of"])]
    own = (body.get("policy") or {}).get("state_max_age_min")
    age_min = STATE_MAX_AGE_MIN if own is None else own
    oldest = min(map(datetime.fromisoformat, given))
    return oldest + timedelta(minutes=float(age_min)) + A_SECOND
