"""Policy against rulebook: tighten freely, loosen only with a reason that is printed."""

from __future__ import annotations

import pytest

from decision.case.types import AlternateBar, Policy
from decision.rules.policy import deviations, policy_faults
from decision.rules.rulebook import load_rulebook, rulebook_ids


def policy(
    *, landing_factor: float = 1.15, age_min: float = 15.0, reason: str | None = None
) -> Policy:
    return Policy(
        margin_kg=None,
        margin_percentile=95.0,
        landing_factor=landing_factor,
        alternate_bar=AlternateBar.IN_FLIGHT,
        routing_factor=1.1,
        delay_min=10.0,
        prefer_commit=False,
        gate_report_max_age_min=age_min,
        deviation_reason=reason,
    )


@pytest.mark.parametrize("book", rulebook_ids())
@pytest.mark.parametrize(
    ("factor", "age_min"), [(1.15, 15.0), (1.15, 60.0), (1.6, 1.0)], ids=["default", "at", "tight"]
)
def test_a_policy_at_or_inside_the_rulebook_is_accepted(
    book: str, factor: float, age_min: float
) -> None:
    assert policy_faults(policy(landing_factor=factor, age_min=age_min), load_rulebook(book)) == ()


def test_a_looser_policy_without_a_reason_is_a_fault_at_its_field() -> None:
    faults = policy_faults(policy(landing_factor=1.149, age_min=61.0), load_rulebook("easa"))
    assert [fault.pointer for fault in faults] == [
        "/policy/landing_factor",
        "/policy/gate_report_max_age_min",
    ]
    assert {fault.code for fault in faults} == {"looser_than_rulebook"}
    assert "CAT.OP.MPA.303(a)" in faults[0].message
    assert [fault.accepted.split(",")[0] for fault in faults] == [">= 1.15", "<= 60"]


@pytest.mark.parametrize("reason", ["", "  "])
def test_an_empty_reason_is_no_reason(reason: str) -> None:
    assert policy_faults(policy(landing_factor=1.0, reason=reason), load_rulebook("easa"))


def test_a_looser_policy_with_a_reason_is_accepted_and_printed() -> None:
    loose = policy(landing_factor=1.1, reason="approved by the authority")
    assert policy_faults(loose, load_rulebook("easa")) == ()
    (deviation,) = deviations(loose, load_rulebook("easa"))
    assert deviation.text == (
        "policy landing_factor 1.1, rulebook >= 1.15 [EU-AO] CAT.OP.MPA.303(a): "
        "approved by the authority"
    )


def test_a_deviation_without_a_reason_says_so() -> None:
    (deviation,) = deviations(policy(landing_factor=1.1), load_rulebook("icao"))
    assert deviation.text.endswith(": no reason given")
