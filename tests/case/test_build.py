"""From a request to a case: everything wrong is named at once, every default is listed."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.case import case_from_mapping, input_digest
from decision.errors import MAX_FAULTS, InvalidCase, told
from decision.quantities import GearPosition
from tests.case.builders import REMOVED, demo, with_changes

SHORT_RUNWAY = {"ident": "09", "true_bearing_deg": 90, "lda_m": 2000}
FIELD = {"icao": "XNEW", "elevation_ft": 10, "runways": [SHORT_RUNWAY], "approaches": []}


def faults(changes: dict[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping(with_changes(demo("clean"), changes))
    return [(fault.pointer, fault.code) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("changes", "usable_kg"),
    [
        pytest.param({}, 5_000.0, id="all of it"),
        pytest.param({"/fuel/unusable_kg": 300}, 4_700.0, id="less what is not usable"),
    ],
)
def test_usable_fuel_is_what_is_on_board_less_what_cannot_be_burnt(
    changes: dict[str, Any], usable_kg: float
) -> None:
    body = with_changes(demo("clean"), {"/fuel/on_board_kg": 5_000} | changes)
    assert case_from_mapping(body).fuel.usable_kg == usable_kg


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"/flight_id": REMOVED}, "/flight_id", "required"),
        ({"/colour": 1}, "/colour", "unknown_field"),
        ({"/aircraft/mass_kg": "60000"}, "/aircraft/mass_kg", "type"),
        ({"/aircraft/anti_ice": 1}, "/aircraft/anti_ice", "type"),
        ({"/as_of": "2026-03-14 06:10"}, "/as_of", "instant"),
        ({"/rulebook": "mars"}, "/rulebook", "choice"),
        ({"/aircraft/profile": "no-such"}, "/aircraft/profile", "unknown_profile"),
        ({"/aircraft/flap": "99"}, "/aircraft/flap", "unknown_detent"),
        ({"/plan/landing_flap": "99"}, "/plan/landing_flap", "unknown_detent"),
        ({"/plan/approach": "ILS 99"}, "/plan/approach", "unknown_approach"),
        ({"/plan/runway": "36"}, "/plan/runway", "unknown_runway"),
        ({"/failures": [{"id": "no-such"}]}, "/failures/0/id", "unknown_failure"),
        ({"/destination": "XNOT"}, "/destination/icao", "unknown_aerodrome"),
        ({"/destination": {"icao": "XNOT", "name": "?"}}, "/destination", "unknown_aerodrome"),
        ({"/alternates/0": "XKAL"}, "/alternates/0/icao", "duplicate"),
        ({"/alternates/1/icao": "XBRE"}, "/alternates/1/icao", "duplicate"),
        ({"/aircraft/mass_kg": 90000}, "/aircraft/mass_kg", "range"),
        ({"/fuel/on_board_kg": 19000}, "/fuel/on_board_kg", "range"),
        ({"/fuel/unusable_kg": 5000}, "/fuel/unusable_kg", "range"),
        (
            {"/failures": [{"id": "fuel-trapped", "quantity_kg": 3460}]},
            "/failures/0/quantity_kg",
            "range",
        ),
        (
            {
                "/fuel/unusable_kg": 100,
                "/failures": [{"id": "anti-skid"}, {"id": "fuel-trapped", "quantity_kg": 3400}],
            },
            "/failures/1/quantity_kg",
            "range",
        ),
        (
            {
                "/fuel/unusable_kg": demo("clean")["fuel"]["on_board_kg"],
                "/failures": [{"id": "fuel-trapped", "quantity_kg": 0.5}],
            },
            "/failures/0/quantity_kg",
            "range",
        ),
        ({"/aircraft/pressure_altitude_ft": 44000}, "/aircraft/pressure_altitude_ft", "range"),
        (
            {"/winds_aloft/1/pressure_altitude_ft": 2000},
            "/winds_aloft",
            "duplicate",
        ),
        (
            {"/alternates/0": {**FIELD, "runways": [SHORT_RUNWAY, SHORT_RUNWAY]}},
            "/alternates/0/runways/1/ident",
            "duplicate",
        ),
        (
            {
                "/alternates/0": {
                    **FIELD,
                    "approaches": [{"id": "A", "runway": "27", "kind": "3D-A"}],
                }
            },
            "/alternates/0/approaches/0/runway",
            "unknown_runway",
        ),
        (
            {
                "/alternates/0": {
                    **FIELD,
                    "approaches": [
                        {"id": "A", "runway": "09", "kind": "3D-A", "dh_ft": 250, "mdh_ft": 300}
                    ],
                }
            },
            "/alternates/0/approaches/0/mdh_ft",
            "contradiction",
        ),
        (
            {
                "/alternates/0": {
                    **FIELD,
                    "approaches": [{"id": "A", "runway": "09", "kind": "3D-A"}] * 2,
                }
            },
            "/alternates/0/approaches/1/id",
            "duplicate",
        ),
        (
            {
                "/alternates/0": {
                    **FIELD,
                    "closures": [
                        {"from_at": "2026-03-14T08:00:00Z", "until_at": "2026-03-14T07:00:00Z"}
                    ],
                }
            },
            "/alternates/0/closures/0/until_at",
            "order",
        ),
    ],
)
def test_a_wrong_request_is_refused_and_the_fault_is_named(
    changes: dict[str, Any], pointer: str, code: str
) -> None:
    assert (pointer, code) in faults(changes)


@pytest.mark.parametrize(
    ("changes", "pointer", "meant"),
    [
        ({"/fule": {}}, "/fule", "fuel"),
        ({"/aircraft/mass": 1}, "/aircraft/mass", "mass_kg"),
        ({"/aircraft/profile": "xtj-150"}, "/aircraft/profile", "xtj150"),
        ({"/failures": [{"id": "hydraulics-1"}]}, "/failures/0/id", "hydraulic-1"),
        ({"/destination": "XKLA"}, "/destination/icao", "XKAL"),
        ({"/colour": 1}, "/colour", None),
        ({f"/{'fuel' * 20}": 1}, f"/{'fuel' * 20}", None),
    ],
)
def test_a_misspelt_name_is_told_with_the_one_that_may_be_meant(
    changes: dict[str, Any], pointer: str, meant: str | None
) -> None:
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping(with_changes(demo("clean"), changes))
    (message,) = [each.message for each in caught.value.faults if each.pointer == pointer]
    assert message.partition("; did you mean ")[2] == ("" if meant is None else f"{meant!r}?")


def test_of_too_many_faults_the_last_one_counts_the_rest() -> None:
    unknown = {f"nothing {number}": number for number in range(5_000)}
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping({**demo("clean"), **unknown})
    assert len(caught.value.faults) == 5_000
    *first, last = told(caught.value.faults)
    assert len(first) == MAX_FAULTS - 1
    assert (last.pointer, last.code) == ("", "more")
    assert last.message == f"{5_000 - len(first)} more faults are not told"
    assert len(str(caught.value)) < 10_000


def test_places_and_profile_that_are_not_there_are_told_together() -> None:
    changes = {"/aircraft/profile": "none", "/destination": "XNOT", "/alternates/0": "XNIL"}
    assert [pointer for pointer, _ in faults(changes)] == [
        "/aircraft/profile",
        "/destination/icao",
        "/alternates/0/icao",
    ]


def test_an_impossible_zero_fuel_mass_names_both_figures_and_the_range() -> None:
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping(with_changes(demo("clean"), {"/aircraft/mass_kg": 45000}))
    named = {fault.pointer: fault for fault in caught.value.faults}
    assert set(named) == {"/aircraft/mass_kg", "/fuel/on_board_kg"}
    assert "42500 to 61500 kg" in named["/fuel/on_board_kg"].accepted


def test_every_fault_is_reported_in_one_go() -> None:
    found = faults({"/aircraft/flap": "99", "/fuel/unusable_kg": 5000, "/plan/runway": "36"})
    assert {pointer for pointer, _ in found} == {
        "/aircraft/flap",
        "/fuel/unusable_kg",
        "/plan/runway",
    }


def test_every_default_that_was_used_is_listed() -> None:
    case = case_from_mapping(demo("clean"))
    used = {assumption.field: assumption.value for assumption in case.assumptions}
    assert used["/policy/margin_percentile"] == 95.0
    assert used["/fuel/unusable_kg"] == 0.0
    assert "/aircraft/gear" not in used  # the case says it


def test_a_value_that_is_given_is_no_assumption() -> None:
    body = with_changes(demo("clean"), {"/policy/margin_percentile": 90})
    fields = {assumption.field for assumption in case_from_mapping(body).assumptions}
    assert "/policy/margin_percentile" not in fields


def test_a_described_aerodrome_lists_its_defaults_once_and_not_for_every_runway() -> None:
    other = {**SHORT_RUNWAY, "ident": "27", "true_bearing_deg": 270, "condition_code": [5, 3, 3]}
    runways = [SHORT_RUNWAY, other]
    body = with_changes(demo("clean"), {"/alternates/0": {**FIELD, "runways": runways}})
    case = case_from_mapping(body)
    slopes = [a for a in case.assumptions if a.field.endswith("slope_percent")]
    assert [a.field for a in slopes] == ["/alternates/0/runways/*/slope_percent"]
    assert case.alternates[0].aerodrome.runway("27").condition_thirds == (5, 3, 3)


def test_one_condition_code_stands_for_all_three_thirds() -> None:
    runway = {**SHORT_RUNWAY, "condition_code": 3}
    body = with_changes(demo("clean"), {"/alternates/0": {**FIELD, "runways": [runway]}})
    assert case_from_mapping(body).alternates[0].aerodrome.runways[0].condition_thirds == (3, 3, 3)


def test_an_aerodrome_may_be_named_alone_or_with_its_distances() -> None:
    body = with_changes(demo("clean"), {"/alternates/0": "XBRE"})
    alone, measured = case_from_mapping(body), case_from_mapping(demo("clean"))
    assert alone.alternates[0].aerodrome is measured.alternates[0].aerodrome
    assert alone.alternates[0].track_nm is None
    assert measured.alternates[0].track_nm == 112


def test_a_full_request_reaches_the_case() -> None:
    observation = {
        "icao": "XKAL",
        "at": "2026-03-14T06:08:00Z",
        "rvr": [{"runway": "27R", "touchdown_m": 900}],
        "wind": {"from_true_deg": 260, "speed_kt": 9, "gust_kt": 20},
        "qnh_hpa": 1013,
        "braking": "medium",
        "braking_runway": "27R",
        "ceiling_ft": 700,
        "visibility_m": 3000,
    }
    case = case_from_mapping(
        with_changes(
            demo("clean"),
            {
                "/aircraft/gear": "in_transit",
                "/aircraft/slats": "out",
                "/observations": [observation, {"icao": "XBRE", "at": "2026-03-14T06:00:00Z"}],
                "/air_traffic": {"expect_approach_at": "2026-03-14T06:40:00Z", "delay_min": 10},
                "/winds_aloft": REMOVED,
                "/approvals": ["LVO"],
            },
        )
    )
    assert case.aircraft.gear is GearPosition.IN_TRANSIT
    assert case.observations[0].spot.rvr[0].touchdown_m == 900
    assert case.observations[0].spot.braking_runway == "27R"
    assert case.observations[1].spot.wind is None
    assert case.winds_aloft is None
    assert case.approvals == {"LVO"}
    assert case.air_traffic.delay_min == 10
    assert case.fuel.usable_kg == case.fuel.on_board_kg


def test_the_digest_is_of_the_meaning_and_not_of_the_writing() -> None:
    body = demo("clean")
    other = dict(reversed(json.loads(json.dumps(body)).items()))
    other["fuel"] = {"on_board_kg": 3450.0}
    assert input_digest(body) == input_digest(other)
    assert input_digest(with_changes(body, {"/fuel/on_board_kg": 3451})) != input_digest(body)


PLACES = (
    "aircraft",
    "aircraft/mass_kg",
    "fuel/on_board_kg",
    "failures",
    "destination",
    "alternates",
)
MORE = ("as_of", "alternates/0", "winds_aloft", "weather/reports", "plan", "policy")
POINTERS = st.sampled_from(PLACES + MORE)
JUNK = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)


@given(POINTERS, JUNK)
def test_junk_anywhere_is_a_named_fault_or_a_case_and_never_another_error(
    pointer: str, junk: object
) -> None:
    body = with_changes(demo("clean"), {pointer: junk})
    try:
        outcome: object = case_from_mapping(body)
    except InvalidCase as error:
        outcome = error
    if isinstance(outcome, InvalidCase):
        assert all(fault.pointer.startswith("/") and fault.message for fault in outcome.faults)


@pytest.mark.parametrize(("below_ft", "accepted"), [(0.0, True), (2000.0, True), (2000.5, False)])
def test_a_pressure_altitude_may_lie_2000_ft_below_the_elevation(
    below_ft: float, *, accepted: bool
) -> None:
    """2000 ft is some 75 hPa of QNH above the standard: the bound is assumed."""
    elevation_ft = case_from_mapping(demo("clean")).destination.aerodrome.elevation_ft
    changes = {"/aircraft/pressure_altitude_ft": elevation_ft - below_ft}
    if accepted:
        case = case_from_mapping(with_changes(demo("clean"), changes))
        assert case.aircraft.pressure_altitude_ft == elevation_ft - below_ft
    else:
        assert faults(changes) == [("/aircraft/pressure_altitude_ft", "range")]
