from __future__ import annotations

from datetime import UTC, datetime, timedelta
from uuid import RFC_4122, UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.identifiers import decision_id

INSTANTS = st.integers(0, 60_000_000_000).map(lambda s: datetime.fromtimestamp(s, UTC))
RANDOM = st.binary(min_size=10, max_size=10)


def test_the_example_of_the_standard_is_reproduced() -> None:
    # RFC 9562, appendix A.6: 2022-02-22 14:22:22 -05:00, rand_a 0xCC3, rand_b 0x18C4DC0C0C07398F
    at = datetime(2022, 2, 22, 19, 22, 22, tzinfo=UTC)
    random = bytes.fromhex("0CC3" + "18C4DC0C0C07398F")
    assert decision_id(at=at, random=random) == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


@given(INSTANTS, RANDOM)
def test_every_identifier_is_a_version_7_uuid(at: datetime, random: bytes) -> None:
    made = UUID(decision_id(at=at, random=random))
    assert (made.version, made.variant) == (7, RFC_4122)


@given(INSTANTS, RANDOM, RANDOM)
def test_a_later_millisecond_sorts_later_whatever_the_chance(
    at: datetime, first: bytes, second: bytes
) -> None:
    later = at + timedelta(milliseconds=1)
    assert decision_id(at=at, random=first) < decision_id(at=later, random=second)


@pytest.mark.parametrize("length", [0, 9, 11])
def test_too_little_or_too_much_chance_is_refused(length: int) -> None:
    with pytest.raises(ValueError, match="needs 10 random bytes"):
        decision_id(at=datetime(2026, 1, 1, tzinfo=UTC), random=bytes(length))
