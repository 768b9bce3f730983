"""Friction by runway condition code, tyre pressure and anti-skid; and the tables behind it."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision import tables
from decision.errors import DataError, OutOfRange
from decision.performance.braking import (
    efficiency_ratio,
    friction_laws,
    governing_code,
    hydroplaning_speed_kt,
    wet_friction,
)
from decision.profile import load_profile
from decision.quantities import AntiSkid
from decision.units import kt_to_mps
from tests.changing import replace

XTJ150 = load_profile("xtj150")


def friction(code: int, speed_kt: float, anti_skid: AntiSkid = AntiSkid.FULL) -> float:
    """The coefficient by the code's own law, planing or not."""
    law = friction_laws(XTJ150, condition_code=code, anti_skid=anti_skid)[0]
    speed_mps = np.array([kt_to_mps(speed_kt)])
    if speed_mps[0] >= law.planing_from_mps:
        return law.planing_coefficient
    return float(np.max(law.rolling_tyre(speed_mps)))


@pytest.mark.parametrize(
    ("code", "coefficient"),
    [
        pytest.param(6, 0.40 * 0.90, id="AC25-32-dry-90-percent-of-certified"),
        pytest.param(4, 0.20, id="AC25-32-code4"),
        pytest.param(3, 0.16, id="AC25-32-code3"),
        pytest.param(1, 0.08, id="AC25-32-code1"),
    ],
)
@pytest.mark.parametrize("speed_kt", [0.0, 80.0, 170.0])
def test_codes_without_a_curve_have_one_coefficient_at_every_speed(
    code: int, coefficient: float, speed_kt: float
) -> None:
    assert friction(code, speed_kt) == pytest.approx(coefficient)


@pytest.mark.parametrize(
    ("anti_skid", "share"),
    [
        pytest.param(AntiSkid.QUASI, 0.625, id="CFR-25-quasi"),
        pytest.param(AntiSkid.ON_OFF, 0.375, id="CFR-25-on-off"),
        pytest.param(AntiSkid.NONE, 0.375, id="ASSUMED-none"),
    ],
)
@pytest.mark.parametrize("code", [6, 4, 3, 1])
def test_a_lesser_anti_skid_system_finds_its_share_of_the_coefficient(
    anti_skid: AntiSkid, share: float, code: int
) -> None:
    assert friction(code, 100.0, anti_skid) == pytest.approx(share * friction(code, 100.0))


def test_dry_friction_is_certified_with_the_anti_skid_system_as_delivered() -> None:
    plain = replace(XTJ150, tyres=replace(XTJ150.tyres, anti_skid=AntiSkid.ON_OFF))
    law = friction_laws(plain, condition_code=6, anti_skid=AntiSkid.ON_OFF)[0]
    assert law.ceiling == pytest.approx(0.36)


def test_wet_friction_follows_the_curve_and_is_capped_at_the_dry_one() -> None:
    wet = wet_friction(ground_speed_kt=120.0, tyre_pressure_psi=195.0)
    assert friction(5, 120.0) == pytest.approx(wet, rel=1e-12)
    assert wet_friction(ground_speed_kt=10.0, tyre_pressure_psi=195.0) > 0.36
    assert friction(5, 10.0) == pytest.approx(0.36)


def test_wet_friction_is_linear_in_tyre_pressure_between_the_rows() -> None:
    rows = [wet_friction(ground_speed_kt=90.0, tyre_pressure_psi=psi) for psi in (100.0, 200.0)]
    between = wet_friction(ground_speed_kt=90.0, tyre_pressure_psi=125.0)
    assert between == pytest.approx(0.75 * rows[0] + 0.25 * rows[1], rel=1e-12)


def test_wet_friction_takes_speeds_one_by_one_or_all_at_once() -> None:
    speeds_kt = np.linspace(0.0, 220.0, 12)
    together = wet_friction(ground_speed_kt=speeds_kt, tyre_pressure_psi=195.0)
    apart = [wet_friction(ground_speed_kt=float(v), tyre_pressure_psi=195.0) for v in speeds_kt]
    assert together == pytest.approx(apart, rel=1e-12)


@given(
    st.floats(50.0, 300.0),
    st.floats(0.0, 210.0),
    st.sampled_from(list(AntiSkid)),
)
def test_wet_friction_falls_with_speed_and_with_tyre_pressure(
    psi: float, speed_kt: float, anti_skid: AntiSkid
) -> None:
    def found(psi: float, speed_kt: float) -> float:
        value = wet_friction(ground_speed_kt=speed_kt, tyre_pressure_psi=psi, anti_skid=anti_skid)
        return float(value)

    assert 0.0 < found(psi, speed_kt + 10.0) < found(psi, speed_kt)
    if speed_kt < 150.0:  # the rows meet near 200 kt
        assert found(min(psi + 10.0, 300.0), speed_kt) <= found(psi, speed_kt)


def test_on_deep_water_tyres_plane_from_85_percent_of_the_hydroplaning_speed() -> None:
    """[AC25-32] table 2, code 2."""
    planing_kt = 0.85 * hydroplaning_speed_kt(tyre_pressure_psi=195.0)
    assert planing_kt == pytest.approx(106.8, abs=0.05)
    assert friction(2, planing_kt + 0.1) == 0.05
    assert friction(2, 50.0) == 0.16
    half_wet = 0.5 * wet_friction(ground_speed_kt=planing_kt - 0.1, tyre_pressure_psi=195.0)
    assert friction(2, planing_kt - 0.1) == pytest.approx(half_wet, rel=1e-9)


def test_nobody_lands_on_code_0() -> None:
    assert friction_laws(XTJ150, condition_code=0, anti_skid=AntiSkid.FULL) == ()


@pytest.mark.parametrize(("code", "better"), [(4, 5), (3, 5), (1, 2)])
def test_a_code_whose_law_can_outdo_a_better_one_brings_that_one_along(
    code: int, better: int
) -> None:
    laws = friction_laws(XTJ150, condition_code=code, anti_skid=AntiSkid.FULL)
    assert laws[1:] == friction_laws(XTJ150, condition_code=better, anti_skid=AntiSkid.FULL)


@given(st.integers(1, 6), st.integers(1, 6), st.floats(0.0, 220.0), st.sampled_from(AntiSkid))
def test_the_laws_tried_for_a_code_include_one_no_better_than_every_better_code(
    code: int, other: int, speed_kt: float, anti_skid: AntiSkid
) -> None:
    tried = [code, *{4: [5], 3: [5], 1: [2]}.get(code, [])]
    worst = min(friction(each, speed_kt, anti_skid) for each in tried)
    if other > code:
        assert worst <= friction(other, speed_kt, anti_skid) + 1e-12


@pytest.mark.parametrize(("thirds", "code"), [((5, 5, 5), 5), ((5, 3, 5), 3), ((6, 5, 2), 2)])
def test_the_worst_third_governs(thirds: tuple[int, ...], code: int) -> None:
    assert governing_code(thirds) == code


@pytest.mark.parametrize("code", [-1, 7])
def test_a_code_that_does_not_exist_is_refused(code: int) -> None:
    with pytest.raises(OutOfRange, match=r"condition_code .* from 0 to 6"):
        friction_laws(XTJ150, condition_code=code, anti_skid=AntiSkid.FULL)


@pytest.mark.parametrize(
    "ask",
    [
        pytest.param(lambda: wet_friction(ground_speed_kt=221.0, tyre_pressure_psi=200.0), id="v"),
        pytest.param(lambda: wet_friction(ground_speed_kt=-1.0, tyre_pressure_psi=200.0), id="-v"),
        pytest.param(lambda: wet_friction(ground_speed_kt=90.0, tyre_pressure_psi=301.0), id="p"),
        pytest.param(lambda: wet_friction(ground_speed_kt=90.0, tyre_pressure_psi=49.0), id="-p"),
        pytest.param(
            lambda: wet_friction(ground_speed_kt=math.nan, tyre_pressure_psi=200.0), id="nan"
        ),
    ],
)
def test_beyond_the_tables_nothing_is_extrapolated(ask: Callable[[], float]) -> None:
    with pytest.raises(OutOfRange):
        ask()


def test_every_anti_skid_system_has_an_efficiency() -> None:
    assert [efficiency_ratio(kind) for kind in AntiSkid] == [0.80, 0.50, 0.30, 0.30]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("a,source\n1,ASSUMED\n", "lacks confidence"),
        ("a,source,confidence\n1,NOWHERE,found\n", "not in the bibliography"),
        ("a,source,confidence\n1,ASSUMED,sure\n", "must be one of found"),
        ("a,source,confidence\n1,ASSUMED\n", "as many cells"),
        ("a,source,confidence\n1,ASSUMED,found,x\n", "as many cells"),
        ("a,source,confidence\nx,ASSUMED,found\n", "not a number: 'x'"),
        ("a,source,confidence\n,ASSUMED,found\n", "must not be empty"),
    ],
)
def test_a_broken_table_says_where_and_why(tmp_path: Path, text: str, problem: str) -> None:
    (tmp_path / "broken.csv").write_text(text)
    with pytest.raises(DataError, match=problem) as caught:
        [
            row.number("a")
            for row in tables.rows("broken.csv", columns=frozenset("a"), folder=tmp_path)
        ]
    assert caught.value.file.startswith("broken.csv")
