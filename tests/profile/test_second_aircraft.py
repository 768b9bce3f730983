"""Nothing is wired to the first aircraft: a second one, and one that shares no name with either."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from decision.brief import brief
from decision.case import case_from_mapping, installed_library
from decision.errors import InvalidCase
from decision.performance import Configuration, clean, final_reserve_kg, landing
from decision.profile import Profile, load_profile, profile_ids
from decision.profile.load import read_profile
from decision.profile.systems_model import CatalogueEntry
from decision.quantities import AntiSkid
from decision.workbench.plausibility import check_profile
from service.app import create_app
from service.store import SqlDecisionLog
from tests.answer.told import told_of
from tests.case.builders import REMOVED, demo, with_changes
from tests.changing import replace
from tests.profile.builders import WIDEBODY, file_with, four_engined
from tests.service.builders import service_settings

WIDE: Profile = load_profile(WIDEBODY)
CASE = "widebody-gear-stays-down"
PUMPS = ("engine-pump-gear-flaps", "electric-pump-gear-flaps")
BEST_FIRST = ("GO", "GO_WITH_CAUTION", "INSUFFICIENT_DATA", "NO_GO")
MOST_DIFFERENT_PERCENT = 2.0


def reported(entry: CatalogueEntry) -> dict[str, Any]:
    """A complete report of a failure of the widebody."""
    report: dict[str, Any] = {"id": entry.id}
    if entry.needs_detent:
        report["detent"] = "11"
    if entry.needs_position:
        report["position"] = "out"
    return report


@cache
def decided(*ids: str) -> dict[str, Any]:
    entries = [WIDE.systems.catalogue[id_] for id_ in ids]
    changes: dict[str, Any] = {"/failures": [reported(entry) for entry in entries]}
    for entry in entries:
        if entry.needs_detent or entry.needs_position:
            changes["/aircraft/flap"] = "11"
        if "up" not in entry.gear:
            changes["/aircraft/gear"] = entry.gear[0]
    return told_of(case_from_mapping(with_changes(demo(CASE), changes)))


def test_it_is_another_aircraft_in_every_name() -> None:
    first, second = load_profile("xtj150"), WIDE
    shared = set(first.systems.catalogue) & set(second.systems.catalogue)
    assert len(second.systems.catalogue) >= 50
    assert not {id_ for id_ in shared if id_.startswith("hydraulic")}
    assert [detent.id for detent in second.detents] == ["0", "4", "11", "19", "29"]


@pytest.mark.parametrize("id_", WIDE.systems.catalogue)
def test_every_failure_goes_through_a_whole_decision(id_: str) -> None:
    told, sound = decided(id_), decided()
    assert BEST_FIRST.index(told["verdict"]) >= BEST_FIRST.index(sound["verdict"]) == 0
    assert told["courses"]
    assert told["provenance"]["profile"]["id"] == WIDEBODY
    assert brief(told).startswith("VENTO 771")


def test_it_lands_as_a_category_d_aeroplane() -> None:
    attempts = [attempt for course in decided()["courses"] for attempt in course["attempts"]]
    assert {attempt["category"] for attempt in attempts} == {"D"}


@pytest.mark.parametrize(
    ("id_", "lost"),
    [
        ("hydraulic-controls", {"roll-control", "autopilot-primary", "ground-spoilers-controls"}),
        ("hydraulic-gear-flaps", {"gear-retraction", "gear-extension", "flap-drive", "reverser-1"}),
        (
            "hydraulic-brakes-steering",
            {"nose-wheel-steering", "autopilot-secondary", "reverser-2"},
        ),
        ("engine-1", {"pack-redundancy", "generator-redundancy", "reverser-1"}),
    ],
)
def test_a_supply_takes_down_its_own_consumers(id_: str, lost: set[str]) -> None:
    functions = {each["function"] for each in decided(id_)["capability"]["lost"]}
    assert lost <= functions
    others = {"hydraulic-controls", "hydraulic-gear-flaps", "hydraulic-brakes-steering"} - {id_}
    assert not others & functions


def brakes_left(*ids: str) -> float:
    devices = decided(*ids)["capability"]["landing_devices"]
    left: dict[str, float] = {each["device"]: each["left"] for each in devices}
    return left["wheel_brakes_fraction"]


def test_the_brakes_outlive_two_of_three_supplies() -> None:
    assert brakes_left("hydraulic-brakes-steering") == 1.0
    both = ("hydraulic-brakes-steering", "hydraulic-gear-flaps")
    assert brakes_left(*both) == pytest.approx(0.625)
    assert brakes_left(*both, "brake-accumulator") == 0.0


def test_the_transfer_pump_extends_the_gear_but_does_not_retract_it() -> None:
    gear = decided(*PUMPS)["capability"]["gear"]
    assert (gear["extension"], gear["retractable"]) == ("alternate", False)
    one = decided(PUMPS[0])["capability"]["gear"]
    assert (one["extension"], one["retractable"]) == ("normal", True)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[FlaskClient]:
    """The service with its installed data."""
    log = SqlDecisionLog.open(f"sqlite:///{tmp_path / 'decisions.sqlite3'}", timeout_s=5)
    yield create_app(service_settings(tmp_path), log=log).test_client()
    log.close()


@pytest.mark.parametrize("profile_id", profile_ids())
def test_the_calculators_answer_for_it(profile_id: str, client: FlaskClient) -> None:
    profile = load_profile(profile_id)
    mass = {"profile": profile_id, "mass_kg": 0.9 * profile.masses.mlw_kg}
    level = {"pressure_altitude_ft": 1500}
    flap = {"flap": profile.approach.landing_detent}
    for tool, body, figure in (
        ("diversion", {"distance_nm": 120}, "fuel_kg"),
        ("landing", {**level, **flap, "condition_code": 5}, "distance_m"),
        ("climb", {**level, "flap": profile.approach.go_around_detent}, "gradient_percent"),
        ("holding", {**level, "minutes": 30}, "fuel_kg"),
    ):
        answer = client.post(f"/v1/performance/{tool}", json={**mass, **body})
        assert answer.status_code == 200, answer.text
        assert answer.get_json()[figure] > 0.0


@pytest.mark.parametrize("profile_id", profile_ids())
def test_each_of_its_failures_expands(profile_id: str, client: FlaskClient) -> None:
    profile = load_profile(profile_id)
    assert profile.systems.catalogue
    for entry in profile.systems.catalogue.values():
        needs = {"detent": profile.flaps_up} if entry.needs_detent else {}
        report = {"id": entry.id, **needs, **({"position": "in"} if entry.needs_position else {})}
        body = {"profile": profile_id, "failures": [report], "gear": entry.gear[0]}
        answer = client.post("/v1/failures/expand", json=body)
        assert answer.status_code == 200, answer.text


@pytest.fixture
def four(tmp_path: Path) -> Profile:
    """Four engines, flap detents without digits, hydraulics of another name."""
    reading = read_profile(four_engined(tmp_path))
    assert reading.faults == ()
    assert reading.profile is not None
    return reading.profile


def decide_with(profile: Profile, **changes: Any) -> dict[str, Any]:
    installed = installed_library()
    library = replace(
        installed, profile_ids=(profile.id,), profile={profile.id: profile}.__getitem__
    )
    body = with_changes(
        demo(CASE), {"/aircraft/profile": profile.id, "/aircraft/flap": REMOVED, **changes}
    )
    return told_of(case_from_mapping(body, library=library))


def test_an_aircraft_that_shares_no_name_is_decided_like_its_twin(four: Profile) -> None:
    """The same wing and thrust: only what depends on the number of engines may differ."""
    twin, other = decided(*PUMPS), decide_with(four)
    assert (other["verdict"], other["basis"]) == (twin["verdict"], twin["basis"])
    assert {"/aircraft/flap"} <= {each["field"] for each in other["assumptions"]}
    for one, two in zip(twin["courses"], other["courses"], strict=True):
        assert (one["kind"], one["aerodrome"]) == (two["kind"], two["aerodrome"])
        needed = one["fuel"]["required_kg"]
        assert two["fuel"]["required_kg"] == pytest.approx(
            needed, rel=MOST_DIFFERENT_PERCENT / 100.0
        )


def test_the_planned_reserve_is_flown_with_every_engine_and_flaps_up(four: Profile) -> None:
    """Not with two engines and a detent called 0, as the first aircraft has them."""
    mass = {"mass_kg": 170_000.0, "elevation_ft": 0.0}
    reserve = final_reserve_kg(four, configuration=clean(four), **mass)
    twin = final_reserve_kg(WIDE, configuration=clean(WIDE), **mass)
    assert reserve == pytest.approx(twin, rel=1e-6)
    assert clean(four) == Configuration(flap="UP", engines_running=4)
    assert clean(four, engines_stopped=1).engines_running == 3


def test_no_engine_drags_on_landing_because_there_are_more_than_two(four: Profile) -> None:
    conditions: dict[str, Any] = {
        "mass_kg": 170_000.0,
        "slats_out": True,
        "pressure_altitude_ft": 0.0,
        "isa_deviation_degc": 0.0,
        "condition_code": 5,
        "headwind_kt": 0.0,
        "slope_percent": 0.0,
        "spoilers": 1.0,
        "reversers": 0,
        "brakes_fraction": 1.0,
        "anti_skid": AntiSkid.FULL,
    }
    ours, twins = landing(four, flap="FULL", **conditions), landing(WIDE, flap="29", **conditions)
    assert ours.distance_m == pytest.approx(twins.distance_m, rel=1e-9)


def test_a_stopped_outer_engine_is_one_of_four(four: Profile) -> None:
    told = decide_with(four, **{"/failures": [{"id": "engine-4"}]})
    assert told["capability"]["engines_running"] == 3
    assert told["courses"]


def test_a_name_of_the_first_aircraft_is_unknown_to_it(four: Profile) -> None:
    with pytest.raises(InvalidCase, match="flap"):
        decide_with(four, **{"/aircraft/flap": "20"})
    with pytest.raises(InvalidCase, match="failures"):
        decide_with(four, **{"/failures": [{"id": "hydraulic-1"}]})


def test_more_reversers_than_engines_are_a_fault(tmp_path: Path) -> None:
    path = file_with(tmp_path)
    systems = path.with_name("xtj150.systems.toml")
    row = '[[node]]\nid = "reverser-{}"\nkind = "source"\ntitle = "R"\nsource = "ASSUMED"\n'
    effect = 'when_lost = [{ kind = "reverser" }]\n'
    systems.write_text(systems.read_text() + row.format(3) + effect)
    (fault,) = read_profile(path).faults
    assert (fault.key, fault.problem) == ("engine.count", "is 2; the systems file has 3 reversers")


def test_the_gates_hold_it_to_the_limits_of_four_engines(four: Profile) -> None:
    limits = {found.gate: found.low for found in check_profile(four)}
    assert (limits["approach climb"], limits["second segment"]) == (2.7, 3.0)
