"""Whole decisions with an operator's tables: the same where they say the same, unknown beyond."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.brief import brief
from decision.case import case_from_mapping
from decision.case.library import installed_library
from decision.errors import InvalidCase
from decision.profile import Profile
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.profile.tables import (
    CLEAN,
    GEAR,
    GEAR_LEVELS_FT,
    LANDING_HEADER,
    MANUAL,
    SPEEDS_KT,
    fuel_rows,
    profile_with,
    with_fuel,
)

TABLE_WORDS = "fuel.csv has"
LIGHT: dict[str, Any] = {"masses": (59_600.0, 62_000.0)}


def decided(body: dict[str, Any], profile: Profile | None = None) -> dict[str, Any]:
    """The answer with the demo aircraft, or with that one in its place."""
    library = installed_library()
    if profile is not None:
        library = replace(library, profile=lambda _: profile)
    return told_of(case_from_mapping(body, library=library))


@pytest.fixture(scope="module")
def tabled(tmp_path_factory: pytest.TempPathFactory) -> Profile:
    """Tables of the aircraft's own physics, clean and gear down."""
    rows = (*fuel_rows(CLEAN), *fuel_rows(GEAR, levels=GEAR_LEVELS_FT))
    return with_fuel(tmp_path_factory.mktemp("tables"), *rows)


@pytest.mark.parametrize("name", ["clean", "gear-stuck", "escape-thin", "wait-for-fog"])
def test_tables_of_the_physics_decide_as_the_physics(name: str, tabled: Profile) -> None:
    body = demo(name)
    physics, tables = decided(body), decided(body, tabled)
    for member in ("verdict", "basis", "fuel_state"):
        assert tables[member] == physics[member]
    for member in ("do", "aerodrome", "runway", "course"):
        assert tables["action"][member] == physics["action"][member]
    for by_table, by_physics in zip(tables["courses"], physics["courses"], strict=True):
        assert by_table["aerodrome"] == by_physics["aerodrome"]
        assert by_table["legal"] == by_physics["legal"]
        if by_physics["fuel"] is not None:
            room = by_physics["fuel"]["margin_kg"]
            assert by_table["fuel"]["margin_kg"] == pytest.approx(room, abs=20.0)


def test_a_table_that_ends_above_the_arrival_mass_leaves_no_go(tmp_path: Path) -> None:
    answer = decided(demo("clean"), with_fuel(tmp_path, *fuel_rows(**LIGHT)))
    assert decided(demo("clean"))["verdict"] == "GO"
    assert answer["verdict"] not in ("GO", "GO_WITH_CAUTION")
    diversions = [each for each in answer["courses"] if each["kind"] != "commit_to_land"]
    assert diversions
    for course in diversions:
        assert course["legal"] is not True
        assert course["fuel"] is None
    assert TABLE_WORDS in json.dumps(answer)


def test_what_a_table_lacks_is_told_in_the_brief(tmp_path: Path) -> None:
    answer = decided(demo("clean"), with_fuel(tmp_path, *fuel_rows(**LIGHT)))
    assert "fuel table" in " ".join(brief(answer).split())


def test_where_only_tables_may_answer_a_stuck_gear_without_rows_is_not_flown(
    tmp_path: Path,
) -> None:
    clean_only = with_fuel(tmp_path, *fuel_rows(CLEAN), elsewhere="refuse")
    answer = decided(demo("gear-stuck"), clean_only)
    after_miss = [each for each in answer["courses"] if each["kind"] == "approach_then_divert"]
    assert after_miss
    for course in after_miss:
        assert course["legal"] is None
        assert "no rows for gear down" in json.dumps(course)
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    assert answer["action"]["do"] == "DIVERT"


def test_a_runway_condition_without_rows_leaves_the_landing_unknown(tmp_path: Path) -> None:
    rows = [f"34,6,{mass},{900 + mass / 100:g},{MANUAL}" for mass in (43000, 76000)]
    profile = profile_with(
        tmp_path,
        section='landing_distance = "landing.csv"\nother_configurations = "refuse"',
        landing__csv="\n".join([LANDING_HEADER, *rows]) + "\n",
    )
    answer = decided(demo("clean"), profile)
    landings = [
        finding
        for course in answer["courses"]
        for finding in course["findings"]
        if finding["rule"] == "LD-01"
    ]
    told = [each for each in landings if "landing.csv has no rows for" in each["text"]]
    assert told
    assert {each["outcome"] for each in told} == {"UNKNOWN"}
    assert answer["verdict"] not in ("GO", "GO_WITH_CAUTION")


def test_an_observed_flow_that_no_table_has_is_not_left_out_in_silence(tmp_path: Path) -> None:
    profile = with_fuel(tmp_path, *fuel_rows(masses=(44_000.0, 50_000.0)))
    body = with_changes(demo("clean"), {"/fuel/observed_flow_kg_per_h": 2600})
    with pytest.raises(InvalidCase) as refusal:
        decided(body, profile)
    (fault,) = refusal.value.faults
    assert fault.pointer == "/fuel/observed_flow_kg_per_h"
    assert TABLE_WORDS in fault.message


def test_without_a_figure_for_the_present_hold_no_time_to_hold_is_told(tmp_path: Path) -> None:
    levels = tuple(float(ft) for ft in (-2_000, 0, 2_000, 4_000, 6_000, 8_000))
    profile = with_fuel(tmp_path, *fuel_rows(levels=levels))
    answer = decided(demo("clean"), profile)
    assert answer["holding"]["clean_diversion"] is None


def test_where_the_model_answers_beside_tables_the_answer_says_so(tmp_path: Path) -> None:
    clean_only = with_fuel(tmp_path, *fuel_rows(CLEAN))
    told = {
        each["field"]: each["text"]
        for each in decided(demo("gear-stuck"), clean_only)["assumptions"]
    }
    assert "flow by the model" in told["fuel flow, gear down, flap 0, slats in, 2 engines"]
    assert "fuel flow, gear up, flap 0, slats in, 2 engines" not in told
    without = decided(demo("gear-stuck"))["assumptions"]
    assert not [each for each in without if "by the model" in each["text"]]


def test_where_the_model_lands_beside_a_table_the_answer_says_so(tmp_path: Path) -> None:
    rows = [
        f"20,{code},{mass},{2000 + mass / 100:g},{MANUAL}"
        for code in (5, 6)
        for mass in (43000, 76000)
    ]
    profile = profile_with(
        tmp_path,
        section='landing_distance = "landing.csv"\nother_configurations = "physics"',
        landing__csv="\n".join([LANDING_HEADER, *rows]) + "\n",
    )
    answer = decided(demo("clean"), profile)
    assert "landing distance, flap 34" in {each["field"] for each in answer["assumptions"]}
    assert answer["verdict"] == "GO"


def test_a_table_of_cruising_speeds_alone_leaves_the_reserve_unknown(tmp_path: Path) -> None:
    fast = tuple(kt for kt in SPEEDS_KT if kt >= 220.0)
    body = with_changes(demo("gear-stuck"), {"/plan/checklist_min": 0})
    answer = decided(body, with_fuel(tmp_path, *fuel_rows(speeds=fast)))
    clean = [each for each in answer["courses"] if each["kind"] == "divert_now"]
    assert clean
    for course in clean:
        assert (course["legal"], course["fuel"]) == (None, None)
        assert "asked for" in json.dumps(course["findings"])
    assert not answer["last_clean_diversion"].get("penalties")
    assert answer["verdict"] == "INSUFFICIENT_DATA"


def test_samples_beyond_a_table_give_no_spread_instead_of_an_extrapolated_one(
    tmp_path: Path,
) -> None:
    body = with_changes(demo("clean"), {"/include": ["uncertainty"]})
    folders = [tmp_path / name for name in ("wide", "narrow")]
    for folder in folders:
        folder.mkdir()
    wide, narrow = (
        decided(body, with_fuel(folder, *fuel_rows(masses=masses)))
        for folder, masses in zip(
            folders, ((50_000.0, 70_000.0), (57_000.0, 60_310.0)), strict=True
        )
    )
    assert wide["verdict"] == narrow["verdict"] == "GO"
    assert wide["uncertainty"]["landing_fuel_p5_kg"] > 0.0
    assert narrow["uncertainty"] is None


@settings(max_examples=15)
@given(less_kg=st.floats(0.0, 1_500.0), miles=st.floats(0.0, 60.0))
def test_by_tables_too_less_fuel_and_more_miles_never_make_a_course_legal(
    less_kg: float, miles: float, tabled: Profile
) -> None:
    body = demo("clean")
    fuel_kg, track_nm = body["fuel"]["on_board_kg"], body["alternates"][0]["track_nm"]
    worse = with_changes(
        body,
        {"/fuel/on_board_kg": fuel_kg - less_kg, "/alternates/0/track_nm": track_nm + miles},
    )
    before, after = (
        {(each["kind"], each["aerodrome"], each["from"]): each for each in answer["courses"]}
        for answer in (decided(body, tabled), decided(worse, tabled))
    )
    for label, course in after.items():
        if course["legal"]:
            assert before[label]["legal"]


def test_where_no_table_has_the_reserve_less_mass_is_a_remedy_of_unknown_size(
    tmp_path: Path,
) -> None:
    answer = decided(
        demo("engine-out-gradient"), with_fuel(tmp_path, *fuel_rows(masses=(44_000.0, 50_000.0)))
    )
    [remedy] = [each for each in answer["remedies"] if each["kind"] == "less_mass"]
    assert remedy["mass_kg"] is None
    assert TABLE_WORDS in remedy["text"]


@pytest.fixture(scope="module")
def low(tmp_path_factory: pytest.TempPathFactory) -> Profile:
    """A table of the physics that ends at 8000 ft, a thousand below the aircraft."""
    levels = tuple(float(ft) for ft in range(-2_000, 8_001, 2_000))
    return with_fuel(tmp_path_factory.mktemp("low"), *fuel_rows(levels=levels))


ON_ITS_WAY_DOWN: dict[str, Any] = {"/destination/track_nm": 22}  # no level flight at 9000 ft


def test_nothing_is_waited_for_at_a_level_of_which_no_table_has_the_flow(low: Profile) -> None:
    """A hold never rests on fuel that is not known; and no time to hold is told then."""
    body = with_changes(demo("clean"), {**ON_ITS_WAY_DOWN, "/weather/reports": []})
    assert decided(body)["action"]["do"] == "HOLD"
    answer = decided(body, low)
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    assert answer["action"]["do"] != "HOLD"
    assert answer["holding"]["available_min"] is None


def test_where_no_table_has_the_flow_of_a_hold_nothing_is_burnt_off(low: Profile) -> None:
    heavy = {"/aircraft/mass_kg": 68_300, "/fuel/on_board_kg": 11_450}
    body = with_changes(demo("clean"), ON_ITS_WAY_DOWN | heavy)
    by_physics, by_table = (
        [each["kind"] for each in answer["remedies"]]
        for answer in (decided(body), decided(body, low))
    )
    assert by_physics == ["burn_off", "overweight_landing"]
    assert by_table == ["overweight_landing"]


def test_an_urgent_flight_whose_reserve_no_table_has_is_flown_for_time_and_not_known(
    tmp_path: Path,
) -> None:
    """The bound of its fuel is left out, the course says which table ends."""
    smoke = with_changes(demo("clean"), {"/failures": [{"id": "smoke"}]})
    answer = decided(smoke, with_fuel(tmp_path, *fuel_rows(**LIGHT)))
    assert answer["basis"] == decided(smoke)["basis"] == "TIME_CRITICAL"
    away = [each for each in answer["courses"] if each["kind"] == "divert_now"]
    assert away
    for course in away:
        assert course["legal"] is not True
        assert course["fuel"] is None
    assert TABLE_WORDS in json.dumps(away)
