"""Policy against rulebook: tighten freely, loosen only with a reason that is printed."""

from __future__ import annotations

import pytest

from decision.attempt.minima import Scheme
from decision.case import case_from_mapping
from decision.case.types import Policy
from decision.errors import InvalidCase
from decision.recommend import recommend
from decision.rulebooks.rulebook import load_rulebook, rulebook_ids
from decision.rules.policy import deviations, policy_faults, scheme_faults, scheme_of
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace


def policy(
    *,
    landing_factor: float = 1.15,
    age_min: float = 15.0,
    reason: str | None = None,
    scheme: str | None = None,
) -> Policy:
    return replace(
        case_from_mapping(demo("clean")).policy,
        landing_factor=landing_factor,
        planning_scheme=scheme,
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


@pytest.mark.parametrize(
    ("book", "scheme", "used"),
    [
        ("easa", None, Scheme.BASIC),
        ("easa", "basic", Scheme.BASIC),
        ("easa", "variations", Scheme.VARIATIONS),
        ("icao", "variations", Scheme.VARIATIONS),
        ("faa-121", None, Scheme.DERIVED_ALTERNATE),
        ("faa-121", "derived_alternate", Scheme.DERIVED_ALTERNATE),
        ("faa-121", "standard_alternate", Scheme.STANDARD_ALTERNATE),
    ],
)
def test_an_operator_chooses_among_the_schemes_of_its_rulebook(
    book: str, scheme: str | None, used: Scheme
) -> None:
    chosen, rulebook = policy(scheme=scheme), load_rulebook(book)
    assert scheme_faults(chosen, rulebook) == ()
    assert scheme_of(chosen, rulebook) is used


@pytest.mark.parametrize(
    ("book", "scheme"), [("easa", "standard_alternate"), ("faa-121", "variations")]
)
def test_a_scheme_of_another_rulebook_is_a_fault_that_names_the_known_ones(
    book: str, scheme: str
) -> None:
    chosen, rulebook = policy(scheme=scheme), load_rulebook(book)
    (fault,) = scheme_faults(chosen, rulebook)
    assert (fault.pointer, fault.code) == ("/policy/planning_scheme", "not_in_rulebook")
    assert f"{book} has no {scheme}" in fault.message
    assert fault.accepted == f"{scheme_of(chosen, rulebook)} or " + (
        "variations" if book == "easa" else "standard_alternate"
    )
    body = with_changes(demo("clean"), {"/rulebook": book, "/policy/planning_scheme": scheme})
    with pytest.raises(InvalidCase):
        recommend(case_from_mapping(body))


def test_a_comparison_judges_each_rulebook_by_a_scheme_that_it_knows() -> None:
    changes = {"/rulebook": "easa", "/policy/planning_scheme": "variations"}
    body = with_changes(demo("clean"), {**changes, "/compare_rulebooks": True})
    told = told_of(case_from_mapping(body))
    assert {each["rulebook"] for each in told["rulebooks_compared"]} == set(rulebook_ids())


def test_the_scheme_decides_which_weather_an_alternate_needs() -> None:
    """[FAA-C055] 200 ft + 400 ft against [CFR-91] 600 ft: the same; 1600 m + 800 m against 3200 m.

    A precision approach with a decision height of 200 ft and 800 m: derived 600 ft and 2400 m,
    standard 600 ft and 3200 m. Visibility 2800 m is enough for the one only.
    """
    changes = {
        "/rulebook": "faa-121",
        "/policy/alternate_bar": "planning",
        "/weather/reports": [
            f"{kind} {icao} {time} 26010KT {seen} BKN020 {rest}"
            for icao, seen in (("XKAL", "9999"), ("XTOR", "2800"), ("XBRE", "2800"))
            for kind, time, rest in (
                ("METAR", "140600Z", "10/06 Q1013"),
                ("TAF", "140500Z 1406/1506", ""),
            )
        ],
    }
    outcomes = {}
    for scheme in ("derived_alternate", "standard_alternate"):
        body = with_changes(demo("clean"), {**changes, "/policy/planning_scheme": scheme})
        told = told_of(case_from_mapping(body))
        outcomes[scheme] = {
            (finding["limit"], finding["outcome"])
            for course in told["courses"]
            for finding in course["findings"]
            if finding["rule"] == "WX-01" and finding["at"] == "XTOR" and finding["limit"]
        }
    assert all(outcome == "FAIL" for _, outcome in outcomes["standard_alternate"])
    assert {limit for limit, _ in outcomes["standard_alternate"]} == {3200.0}
    assert outcomes["derived_alternate"] != outcomes["standard_alternate"]
