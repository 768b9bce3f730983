"""Every member of the request is read by some decision: none is accepted and ignored."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from msgspec import Struct

from decision.case import CASE, case_from_mapping
from decision.case.spec import AnyOf, FieldBeside, ListOf, RecordSpec, Spec
from decision.recommend import recommend_mapping
from tests.case.builders import demo, with_changes

RUNWAY: Final = {
    "ident": "27",
    "true_bearing_deg": 271,
    "lda_m": 2450,
    "slope_percent": 0.3,
    "width_m": 45,
    "grooved": True,
    "contaminant": "wet",
    "depth_mm": 2,
    "closed": False,
    "strength_kg": 90_000,
}
ILS: Final = {
    "id": "ILS 27",
    "runway": "27",
    "kind": "3D-B",
    "needs": ["ILS"],
    "dh_ft": 210,
    "rvr_m": 600,
    "lights": "FALS",
    "equipment_out": ["edge_lights"],
    "missed_gradient_percent": 2.6,
    "missed_altitude_ft": 4100,
    "missed_track_nm": 11,
    "oei_missed_gradient_percent": 1.9,
    "obstacles": [{"distance_nm": 4, "elevation_ft": 900}],
}
VOR: Final = {"id": "VOR 27", "runway": "27", "kind": "2D-A", "mdh_ft": 520, "visibility_m": 2100}
DAY: Final = {"from_at": "2026-03-14T00:00:00Z", "until_at": "2026-03-15T00:00:00Z"}
PLACE: Final = {
    "elevation_ft": 310,
    "position": {"latitude_deg": 47.1, "longitude_deg": 9.2},
    "runways": [RUNWAY, {**RUNWAY, "ident": "28", "condition_code": [5, 4, 5]}],
    "approaches": [ILS, VOR],
    "rescue_category": 7,
    "closures": [{"from_at": "2026-03-14T22:00:00Z", "until_at": "2026-03-14T23:00:00Z"}],
    "opening": [DAY],
    "separate_runways": True,
}
WORD: Final = {
    "icao": "XKAL",
    "at": "2026-03-14T06:05:00Z",
    "rvr": [{"runway": "27", "touchdown_m": 1100, "midpoint_m": 1000, "stop_end_m": 900}],
    "wind": {"from_true_deg": 261, "speed_kt": 11, "gust_kt": 22},
    "qnh_hpa": 1012,
    "braking": "medium",
    "braking_runway": "27",
    "ceiling_ft": 800,
    "visibility_m": 1900,
}
FETCHED: Final = {
    "icao": "XKAL",
    "kind": "forecast",
    "at": "2026-03-14T06:00:00Z",
    "age_s": 61,
    "stale": True,
    "problem": "no answer in time",
}
FULL: Final[dict[str, Any]] = {
    "/aircraft/slats": "in",
    "/aircraft/flap": "0",
    "/aircraft/position": {"latitude_deg": 47.6, "longitude_deg": 9.9},
    "/aircraft/oxygen_min": 33,
    "/aircraft/persons_on_board": 101,
    "/aircraft/heading_true_deg": 77,
    "/fuel/leak_kg_per_h": 60,
    "/fuel/observed_flow_kg_per_h": 2345,
    "/fuel/planned_final_reserve_kg": 1111,
    "/failures": [
        {"id": "fuel-leak"},
        {"id": "fuel-trapped", "quantity_kg": 12},
        {"id": "pressurisation"},
        {"id": "slats-jammed", "position": "in"},
        {"id": "flaps-jammed", "detent": "0"},
    ],
    "/destination": {**PLACE, "icao": "XKAL", "track_nm": 44, "minimum_level_ft": 3500},
    "/alternates/0": {
        **PLACE,
        "icao": "XNEW",
        "track_nm": 91,
        "track_from_present_nm": 99,
        "minimum_level_ft": 4500,
    },
    "/observations": [WORD],
    "/notices": [
        {
            "id": "A0007/26",
            "place": "XNEW",
            "subject": "declared_distances",
            "effect": "changed",
            "runway": "27",
            "from_at": "2026-03-14T05:00:00Z",
            "until_at": "2026-03-14T09:00:00Z",
            "until_estimated": True,
            "lda_m": 2200,
        },
        {
            "place": "XNEW",
            "subject": "rescue",
            "effect": "changed",
            "from_at": "2026-03-14T05:00:00Z",
            "category": 6,
        },
    ],
    "/winds_aloft": [
        {"pressure_altitude_ft": 3100, "from_true_deg": 244, "speed_kt": 17, "temperature_degc": 3}
    ],
    "/weather/fetch": True,
    "/weather/fetched": [FETCHED],
    "/plan": {
        "approach": "ILS 27",
        "runway": "27",
        "hold_min": 3,
        "gear_extension_nm": 9,
        "checklist_min": 4,
        "landing_flap": "0",
    },
    "/policy/state_max_age_min": 3,
    "/policy/hazard_weights": [{"phenomenon": "hail", "weight": "bar"}],
    "/policy/adopt": ["LD-01"],
    "/policy/planning_scheme": "basic",
    "/policy/alternate_bar": "planning",
    "/policy/deviation_reason": "trial",
    "/air_traffic": {"expect_approach_at": "2026-03-14T06:50:00Z", "delay_min": 2},
    "/carried": {
        "along": "DIVERT XNEW",
        "values": [{"field": "/fuel/on_board_kg", "given_at": "2026-03-14T06:06:00Z"}],
        "lost": "nobody knows",
        "no_better_than": {"verdict": "NO_GO", "deadline_at": "2026-03-14T06:08:00Z"},
    },
    "/rulebook": "easa",
    "/compare_rulebooks": True,
    "/include": ["flip_points", "uncertainty", "steps", "ahead"],
}
ELSEWHERE: Final = {
    ("Aerodrome", "name"),  # told where an aerodrome is asked for by its indicator
    ("Runway", "length_m"),  # where the landing distance available is not known: tests/rules
    ("AirTraffic", "delay_min"),  # part of `plan.hold_min` before anything is decided
    # what alternates are proposed by, before anything is decided, and what is told as it is
    *(("Proposing", each) for each in ("within_nm", "within_min", "most")),
    *(("ProposedPlace", each) for each in ("icao", "taken", "why")),
    *(("Proposed", each) for each in ("aerodromes", "places", "beyond")),
    *(("Gazette", each) for each in ("digest", "count")),
}
DEMOS: Final = ("later-into-fog", "smoke-nearer-runway", "engine-out-gradient", "choice")


def records(spec: Spec) -> Iterator[RecordSpec]:
    """Every object of a format."""
    match spec:
        case RecordSpec():
            yield spec
            for member in spec.members:
                yield from records(
                    member.record if isinstance(member, FieldBeside) else member.spec
                )
        case ListOf():
            yield from records(spec.item)
        case AnyOf():
            for choice in spec.choices:
                yield from records(choice)


def declared() -> set[tuple[str, str]]:
    return {(each.name, member.name) for each in records(CASE) for member in each.members}


@contextmanager
def traced(kinds: set[type[Struct]]) -> Iterator[set[tuple[str, str]]]:
    """Which members of values of these types are read meanwhile."""
    read: set[tuple[str, str]] = set()

    def reading(value: object, name: str) -> Any:
        read.add((type(value).__name__, name))
        return object.__getattribute__(value, name)

    own = [kind for kind in kinds if "__getattribute__" not in vars(kind)]
    for kind in own:
        kind.__getattribute__ = reading  # type: ignore[method-assign]
    try:
        yield read
    finally:
        for kind in own:
            del kind.__getattribute__


def read_by_decisions() -> set[tuple[str, str]]:
    """No other test may decide the full request: what is remembered of it is not read again."""
    bodies = [with_changes(demo("clean"), FULL), *map(demo, DEMOS)]
    cases = [case_from_mapping(body) for body in bodies]
    with traced({each.kind for each in records(CASE)}) as read:
        for case in cases:
            recommend_mapping(case)
    return read


def test_every_member_of_the_request_is_read_by_a_decision() -> None:
    assert declared() - read_by_decisions() == ELSEWHERE


def test_a_delay_that_control_has_told_is_part_of_the_hold() -> None:
    body = with_changes(demo("clean"), {"/plan/hold_min": 3, "/air_traffic/delay_min": 4})
    assert case_from_mapping(body).plan.hold_min == 7.0


def test_grooves_are_told_to_be_given_no_credit() -> None:
    body = with_changes(demo("clean"), {"/destination": FULL["/destination"], "/plan": {}})
    answer = recommend_mapping(case_from_mapping(body))
    told = {each["field"]: each["text"] for each in answer["assumptions"]}
    assert "no credit" in told["XKAL runway 27 grooves"]


def test_a_member_that_nobody_reads_is_noticed() -> None:
    case = case_from_mapping(demo("clean"))
    with traced({type(case.fuel)}) as read:
        assert case.fuel.usable_kg > 0.0
    assert read == {("Fuel", "usable_kg"), ("Fuel", "on_board_kg"), ("Fuel", "unusable_kg")}
