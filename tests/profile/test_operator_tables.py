"""An operator's tables: everything wrong with them is told at once, with file, line and column."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.profile import Profile, load_profile
from decision.profile.load import read_profile
from decision.profile.operator_tables import (
    Axis,
    Grid,
    Loss,
    OutOfTable,
)
from decision.workbench.plausibility import check_profile
from tests.profile.builders import DEMO, file_with
from tests.profile.tables import (
    CORRECTIONS_HEADER,
    GEAR,
    GEAR_LEVELS_FT,
    LANDING_HEADER,
    MANUAL,
    corrections_csv,
    factors_csv,
    fuel_csv,
    fuel_rows,
    landing_csv,
    profile_with,
    reading_with,
    with_fuel,
)

SMALL: dict[str, Any] = {
    "masses": (50_000.0, 60_000.0),
    "levels": (0.0, 10_000.0),
    "speeds": (200.0, 240.0),
}
FUEL = 'fuel_flow = ["fuel.csv"]\nother_configurations = "physics"'
LANDING_FILES = 'landing_distance = "landing.csv"\nlanding_corrections = "corrections.csv"'
LANDING = 'landing_distance = "landing.csv"\nother_configurations = "physics"'
FACTORS = 'factors = "factors.csv"\nother_configurations = "physics"'


def faults_of_fuel(folder: Path, text: str) -> list[str]:
    reading = reading_with(folder, section=FUEL, fuel__csv=text)
    assert reading.profile is None
    return [str(fault) for fault in reading.faults]


def small_rows() -> list[str]:
    return fuel_rows(**SMALL)


# --- interpolation -----------------------------------------------------------------------------

CUBE = Grid(
    axes=(
        Axis("mass_kg", "kg", np.array([40.0, 50.0, 70.0])),
        Axis("pressure_altitude_ft", "ft", np.array([0.0, 10.0])),
        Axis("cas_kt", "kt CAS", np.array([200.0, 220.0, 260.0, 300.0])),
    ),
    values=np.arange(24.0).reshape(3, 2, 4) ** 2,
)


def test_a_grid_is_exact_at_every_node() -> None:
    for i, mass in enumerate((40.0, 50.0, 70.0)):
        for j, level in enumerate((0.0, 10.0)):
            for k, speed in enumerate((200.0, 220.0, 260.0, 300.0)):
                assert CUBE.at(mass, level, speed, table="t.csv") == CUBE.values[i, j, k]


@pytest.mark.parametrize(
    ("axis", "low", "high"), [(0, 40.0, 50.0), (1, 0.0, 10.0), (2, 220.0, 260.0)]
)
@given(share=st.floats(0.0, 1.0))
def test_between_two_nodes_a_grid_is_a_straight_line(
    axis: int, low: float, high: float, share: float
) -> None:
    at = [50.0, 10.0, 260.0]
    ends = []
    for value in (low, high):
        at[axis] = value
        ends.append(CUBE.at(*at, table="t.csv"))
    at[axis] = low + share * (high - low)
    expected = ends[0] + share * (ends[1] - ends[0])
    assert CUBE.at(*at, table="t.csv") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("at", "words"),
    [
        ((39.9, 5.0, 250.0), "40 kg: it has 40 kg to 70 kg"),
        ((45.0, 10.5, 250.0), "10 ft: it has 0 ft to 10 ft"),
        ((45.0, 5.0, 301.0), "301 kt CAS: it has 200 kt CAS to 300 kt CAS"),
    ],
)
def test_outside_a_grid_is_refused_by_name(at: tuple[float, float, float], words: str) -> None:
    with pytest.raises(OutOfTable, match=r"operator's table t\.csv does not reach") as refusal:
        CUBE.at(*at, table="t.csv")
    assert words in str(refusal.value)


# --- reading -----------------------------------------------------------------------------------


def test_a_complete_table_is_read(tmp_path: Path) -> None:
    profile = with_fuel(tmp_path, *small_rows())
    (shape,) = profile.tables.fuel
    assert shape.label == "gear up, flap 0, slats in, 2 engines"
    assert profile.tables.reach == (
        "fuel.csv: gear up, flap 0, slats in, 2 engines: 50000 kg to 60000 kg, 0 ft to 10000 ft,"
        " 200 kt CAS to 240 kt CAS",
    )


def test_the_digest_covers_the_tables(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one = with_fuel(tmp_path / "a", *small_rows())
    other = with_fuel(tmp_path / "b", *fuel_rows(**SMALL, times=1.01))
    assert one.digest != other.digest


def test_a_profile_without_tables_has_none() -> None:
    tables = load_profile(DEMO).tables
    assert not tables.concern_fuel
    assert tables.landing is None
    assert tables.reach == ()


def test_a_table_by_mach_number_is_read(tmp_path: Path) -> None:
    rows = [
        f"up,closed,0,in,2,{mass},{level},{mach},{2000 + mass / 100},{MANUAL}"
        for mass in (50000, 60000)
        for level in (30000, 35000)
        for mach in (0.70, 0.78)
    ]
    profile = profile_with(tmp_path, section=FUEL, fuel__csv=fuel_csv(*rows, speed="mach"))
    (grids,) = profile.tables.fuel.values()
    assert grids[0].reach == "50000 kg to 60000 kg, 30000 ft to 35000 ft, 0.700 Mach to 0.780 Mach"


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda rows: rows[:3] + rows[4:], "not a full rectangle: 1 of 8 combinations missing"),
        (lambda rows: rows[:2] + rows[1:], "line 4: repeats the row before"),
        (lambda rows: [*rows[1:], rows[0]], "not ascending: rows rise by mass_kg, then"),
        (lambda rows: rows[:4], "mass_kg: needs at least two values"),
        (lambda rows: [rows[0].replace(MANUAL, ""), *rows[1:]], "line 2: source: is empty"),
        (lambda rows: [_flow(rows[0], "-2200"), *rows[1:]], "is '-2200'; must be a number from 10"),
        (lambda rows: [_flow(rows[0], ""), *rows[1:]], "fuel_flow_kg_per_h: is empty"),
        (lambda rows: [_flow(rows[0], "nan"), *rows[1:]], "is 'nan'"),
        (lambda rows: [_flow(rows[0], "2,200"), *rows[1:]], "as many cells as the header"),
        (lambda rows: [rows[0].replace("up,", "UP,"), *rows[1:]], "is 'UP'; must be up or down"),
        (lambda rows: [rows[0].replace(",0,in", ",7,in"), *rows[1:]], "is '7'; must be 0 or 6"),
        (lambda rows: [rows[0].replace("in,2", "in,3"), *rows[1:]], "engines_running: is '3'"),
        (lambda _: [], "has no rows"),
    ],
    ids=[
        "gap", "twice", "not-ascending", "one-mass", "no-source", "negative", "empty", "nan",
        "decimal-comma", "unknown-word", "unknown-detent", "too-many-engines", "no-rows",
    ],
)  # fmt: skip
def test_each_fault_of_a_fuel_table_is_told(tmp_path: Path, change: object, expected: str) -> None:
    assert callable(change)
    faults = faults_of_fuel(tmp_path, fuel_csv(*change(small_rows())))
    assert any(expected in fault for fault in faults), faults
    assert all(fault.startswith("fuel.csv: ") for fault in faults)


def _flow(row: str, flow: str) -> str:
    cells = row.split(",")
    return ",".join([*cells[:8], flow, *cells[9:]])


def test_a_unit_that_is_not_the_column_s_is_told(tmp_path: Path) -> None:
    text = fuel_csv(*small_rows()).replace("fuel_flow_kg_per_h", "fuel_flow_lb_per_h")
    (fault,) = faults_of_fuel(tmp_path, text)
    assert "lacks fuel_flow_kg_per_h; does not know 'fuel_flow_lb_per_h'" in fault


def test_two_speed_columns_or_none_are_told(tmp_path: Path) -> None:
    text = fuel_csv(*small_rows()).replace("cas_kt", "tas_kt")
    (fault,) = faults_of_fuel(tmp_path, text)
    assert "must have exactly one of the columns cas_kt, mach" in fault


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    rows = small_rows()
    rows[0], rows[3] = _flow(rows[0], "-1"), rows[3].replace(MANUAL, "")
    reading = reading_with(
        tmp_path,
        section='fuel_flow = ["fuel.csv", "none.csv"]\nflows = "x"\nfactors = 3\n',
        fuel__csv=fuel_csv(*rows),
    )
    told = "\n".join(str(fault) for fault in reading.faults)
    for words in (
        "tables.flows: unknown key",
        "tables.factors: must be the name of a file beside the profile",
        "tables.other_configurations: must be physics or refuse",
        "none.csv: file: cannot be read: No such file",
        "fuel.csv: line 2: fuel_flow_kg_per_h",
        "fuel.csv: line 5: source",
    ):
        assert words in told


@pytest.mark.parametrize("name", ["../fuel.csv", "/etc/passwd", "sub/fuel.csv"])
def test_a_table_lies_beside_its_profile(tmp_path: Path, name: str) -> None:
    section = f'fuel_flow = ["{name}"]\nother_configurations = "physics"'
    reading = reading_with(tmp_path, section=section)
    assert [fault.key for fault in reading.faults] == ["tables.fuel_flow"]


def test_the_section_must_be_a_table(tmp_path: Path) -> None:
    path = file_with(tmp_path, ("[profile]", "tables = 3\n[profile]"))
    assert [str(fault) for fault in read_profile(path).faults] == [
        "xtj150.toml: tables: must be a table of file names"
    ]


def test_a_file_that_is_not_text_is_told(tmp_path: Path) -> None:
    (tmp_path / "fuel.csv").write_bytes(b"\xff\xfe\x00gear")
    reading = reading_with(tmp_path, section=FUEL)
    assert ["cannot be read" in str(fault) for fault in reading.faults] == [True]


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    profile = profile_with(tmp_path, section=FUEL, fuel__csv="\ufeff" + fuel_csv(*small_rows()))
    assert profile.tables.concern_fuel


def test_a_landing_table_and_its_corrections_are_read(tmp_path: Path) -> None:
    profile = profile_with(
        tmp_path,
        section=f'{LANDING}\nlanding_corrections = "corrections.csv"',
        landing__csv=landing_csv(),
        corrections__csv=corrections_csv(),
    )
    assert profile.tables.landing is not None
    assert profile.tables.landing.has("34")
    assert not profile.tables.landing.has("20")
    assert "landing, flap 34, condition code 6: 43000 kg to 76000 kg" in profile.tables.reach[-1]


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (f"34,6,tailwind_kt,-5,15,{MANUAL}", "tailwind_kt cannot shorten a landing"),
        (f"34,5,tailwind_kt,5,15,{MANUAL}", "has no distance that it corrects"),
        (f"34,6,tailwind_kt,5,15,{MANUAL}\n34,6,tailwind_kt,6,15,{MANUAL}", "repeats a row before"),
        (f"34,6,tailwind,5,15,{MANUAL}", "departing: is 'tailwind'"),
    ],
)
def test_each_fault_of_corrections_is_told(tmp_path: Path, row: str, expected: str) -> None:
    reading = reading_with(
        tmp_path,
        section=f'{LANDING}\nlanding_corrections = "corrections.csv"',
        landing__csv=f"{LANDING_HEADER}\n34,6,50000,1000,{MANUAL}\n34,6,60000,1200,{MANUAL}\n",
        corrections__csv=f"{CORRECTIONS_HEADER}\n{row}\n",
    )
    assert [expected in str(fault) for fault in reading.faults] == [True], reading.faults


def test_corrections_without_distances_are_told(tmp_path: Path) -> None:
    section = 'landing_corrections = "corrections.csv"\nother_configurations = "physics"'
    reading = reading_with(tmp_path, section=section, corrections__csv=corrections_csv())
    assert [fault.problem for fault in reading.faults] == ["needs landing_distance too"]


def test_a_landing_table_of_one_mass_is_told(tmp_path: Path) -> None:
    text = f"{LANDING_HEADER}\n34,6,50000,1000,{MANUAL}\n"
    reading = reading_with(tmp_path, section=LANDING, landing__csv=text)
    assert ["needs at least two values" in str(fault) for fault in reading.faults] == [True]


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (f"fuel,ground_spoilers_lost,,,1.2,{MANUAL}", "no loss that multiplies fuel"),
        (f"landing,gear_down,,,1.2,{MANUAL}", "no loss that multiplies landing"),
        (f"landing,flap,,,1.2,{MANUAL}", "a detent belongs to flap"),
        (f"landing,anti_skid_lost,20,,1.2,{MANUAL}", "a detent belongs to flap"),
        (f"fuel,gear_down,,5,1.2,{MANUAL}", "a condition code belongs to a landing"),
        (f"landing,anti_skid_lost,,7,1.2,{MANUAL}", "condition_code: is '7'"),
        (
            f"landing,anti_skid_lost,,,0.9,{MANUAL}",
            "factor: is '0.9'; must be a number from 1 to 5",
        ),
        (
            f"fuel,gear_down,,,1.6,{MANUAL}\nfuel,gear_down,,,1.7,{MANUAL}",
            "line 3: repeats a row before",
        ),
    ],
)
def test_each_fault_of_factors_is_told(tmp_path: Path, row: str, expected: str) -> None:
    reading = reading_with(tmp_path, section=FACTORS, factors__csv=factors_csv(row))
    assert [expected in str(fault) for fault in reading.faults] == [True], reading.faults


def test_a_factor_of_one_surface_goes_before_that_of_all(tmp_path: Path) -> None:
    rows = (f"landing,anti_skid_lost,,,1.5,{MANUAL}", f"landing,anti_skid_lost,,1,2.5,{MANUAL}")
    profile = profile_with(
        tmp_path,
        section=FACTORS,
        factors__csv=factors_csv(*rows, f"fuel,flap,12,,1.4,{MANUAL}"),
    )
    factors = profile.tables.factors
    assert factors.landing_factor(Loss.ANTI_SKID_LOST, condition_code=1) == 2.5
    assert factors.landing_factor(Loss.ANTI_SKID_LOST, condition_code=5) == 1.5
    assert factors.fuel_factor(Loss.FLAP, "12") == 1.4
    assert factors.fuel_factor(Loss.FLAP, "20") is None
    assert profile.tables.reach == (
        "fuel x1.4: flap 12",
        "landing distance x1.5: anti_skid_lost",
        "landing distance x2.5: anti_skid_lost on condition code 1",
    )


# --- plausibility ------------------------------------------------------------------------------


def not_passed(profile: Profile) -> list[str]:
    """The gates of tables that a profile does not pass."""
    found = check_profile(profile)
    return [each.gate for each in found if not each.passed and "table" in each.gate]


def test_tables_of_the_physics_pass_every_gate(tmp_path: Path) -> None:
    profile = profile_with(
        tmp_path,
        section=f"{FUEL}\n{LANDING_FILES}",
        fuel__csv=fuel_csv(*fuel_rows(), *fuel_rows(GEAR, levels=GEAR_LEVELS_FT)),
        landing__csv=landing_csv(),
        corrections__csv=corrections_csv(),
    )
    ids = {finding.gate for finding in check_profile(profile)}
    assert {gate for gate in ids if "table" in gate} == {
        "fuel table: a heavier aircraft burns more",
        "fuel table: gear down burns no less than gear up",
        "fuel table over the physics",
        "landing table: a heavier aircraft needs more runway",
        "landing table: less grip needs more runway",
        "landing table over the physics",
    }
    assert not_passed(profile) == []


def test_a_heavier_aircraft_that_burns_less_is_found(tmp_path: Path) -> None:
    light, heavy = (fuel_rows(**(SMALL | {"masses": (kg,)})) for kg in SMALL["masses"])
    rows = [*light, *(_flow(row, f"{0.8 * float(row.split(',')[8])}") for row in heavy)]
    profile = with_fuel(tmp_path, *rows)
    assert not_passed(profile) == ["fuel table: a heavier aircraft burns more"]


def test_a_gear_table_below_the_clean_one_is_found(tmp_path: Path) -> None:
    profile = with_fuel(tmp_path, *small_rows(), *fuel_rows(GEAR, **SMALL, times=0.5))
    assert "fuel table: gear down burns no less than gear up" in not_passed(profile)
    assert "fuel table over the physics" in not_passed(profile)


def test_pounds_in_a_column_of_kilograms_are_found(tmp_path: Path) -> None:
    profile = with_fuel(tmp_path, *fuel_rows(**SMALL, times=2.2046))
    assert set(not_passed(profile)) == {"fuel table over the physics"}


def test_tables_that_do_not_meet_are_not_compared(tmp_path: Path) -> None:
    gear = fuel_rows(GEAR, **(SMALL | {"speeds": (150.0, 170.0)}))
    profile = with_fuel(tmp_path, *small_rows(), *gear)
    gates = [finding.gate for finding in check_profile(profile)]
    assert "fuel table: gear down burns no less than gear up" not in gates


def test_a_mach_table_is_held_to_the_physics(tmp_path: Path) -> None:
    rows = [
        f"{gear},closed,0,in,2,{mass},{level},{mach},{2000 + mass / 100 + mach},{MANUAL}"
        for gear in ("up", "down")
        for mass in (50000, 60000)
        for level in (30000, 35000)
        for mach in (0.70, 0.76)
    ]
    clean = fuel_csv(*rows[:8], speed="mach")
    gear = fuel_csv(*(row.replace(",0.76,", ",250,").replace(",0.7,", ",200,") for row in rows[8:]))
    section = 'fuel_flow = ["m.csv", "c.csv"]\nother_configurations = "physics"'
    profile = profile_with(tmp_path, section=section, m__csv=clean, c__csv=gear)
    over = [f for f in check_profile(profile) if f.gate == "fuel table over the physics"]
    assert [finding.passed for finding in over[:2]] == [True, True]
    assert "fuel table: gear down burns no less than gear up" not in [
        finding.gate for finding in check_profile(profile)
    ]


@pytest.mark.parametrize(
    ("rows", "gate"),
    [
        (
            ("34,6,50000,1300", "34,6,60000,1200"),
            "landing table: a heavier aircraft needs more runway",
        ),
        (
            ("34,5,50000,1000", "34,5,60000,1100", "34,6,50000,1100", "34,6,60000,1200"),
            "landing table: less grip needs more runway",
        ),
        (
            ("34,5,50000,1300", "34,5,51000,1320", "34,6,52000,1100", "34,6,60000,1200"),
            "landing table: less grip needs more runway",
        ),
        (("34,6,50000,3500", "34,6,60000,4000"), "landing table over the physics"),
    ],
    ids=["mass", "grip", "no-mass-in-common", "feet-for-metres"],
)
def test_a_landing_table_that_no_aircraft_has_is_found(
    tmp_path: Path, rows: tuple[str, ...], gate: str
) -> None:
    text = "\n".join([LANDING_HEADER, *(f"{row},{MANUAL}" for row in rows)]) + "\n"
    profile = profile_with(tmp_path, section=LANDING, landing__csv=text)
    assert gate in not_passed(profile)


def test_a_distance_that_the_gate_cannot_work_out_says_so(tmp_path: Path) -> None:
    rows = [f"34,6,{mass},{900 + mass / 100:g},{MANUAL}" for mass in (77000, 80000)]
    text = "\n".join([LANDING_HEADER, *rows]) + "\n"
    profile = profile_with(tmp_path, section=LANDING, landing__csv=text)
    over = [f for f in check_profile(profile) if f.gate == "landing table over the physics"]
    assert [finding.value for finding in over] == [None]
    assert "does not reach 76000 kg" in over[0].problem
