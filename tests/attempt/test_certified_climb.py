"""The climbs that limit a landing mass, as attempts carry them."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.attempt import Attempt, CertifiedClimb
from decision.attempt.certified import Certification, not_as_certified
from decision.performance import climb
from decision.performance.configuration import clean
from decision.profile import Profile, load_profile
from decision.rules.finding import Outcome
from decision.rules.row import Breach
from tests.changing import replace
from tests.decide.builders import courses, situation
from tests.rules.builders import attempt, context, findings

XTJ, XTWIDE = load_profile("xtj150"), load_profile("xtwide")
HOT_AND_LOW = "METAR XKAL 140600Z 26011KT 9999 SCT030 {}/04 Q{} NOSIG"


def missed(**changes: Any) -> Attempt:
    (first, *_) = courses(**changes)["approach_then_divert:XBRE"].attempts
    return first


def test_the_figures_are_those_of_the_configurations_certified() -> None:
    """[CFR-25] 25.121(d): one engine, gear up, approach flap; 25.119: all, gear down, landing."""
    at = missed()
    assert at.certified_climb is not None
    air: dict[str, Any] = {
        "mass_kg": at.mass_kg,
        "pressure_altitude_ft": 300.0,
        "isa_deviation_degc": -6.4,
    }
    one = replace(clean(XTJ, engines_stopped=1), flap="20", slats_out=True)
    both = replace(clean(XTJ), flap="34", slats_out=True, gear_down=True)
    expected = [climb(XTJ, configuration=each, **air).gradient_percent for each in (one, both)]
    found = [at.certified_climb.approach_percent, at.certified_climb.landing_percent]
    assert found == pytest.approx(expected, abs=0.1)


def test_wind_changes_neither() -> None:
    calm = missed(
        **{"/weather/reports/0": HOT_AND_LOW.format("08", 1013).replace("26011", "00000")}
    )
    windy = missed(
        **{"/weather/reports/0": HOT_AND_LOW.format("08", 1013).replace("26011", "27030")}
    )
    assert calm.certified_climb is not None
    assert windy.certified_climb is not None
    first, second = calm.certified_climb, windy.certified_climb
    assert first.approach_percent == pytest.approx(second.approach_percent, abs=0.02)


def test_heat_and_mass_take_from_both() -> None:
    cool, hot = missed(), missed(**{"/weather/reports/0": HOT_AND_LOW.format(40, 1013)})
    heavy = missed(**{"/aircraft/mass_kg": 68_000, "/fuel/on_board_kg": 9000})
    for worse in (hot, heavy):
        assert worse.certified_climb is not None
        assert cool.certified_climb is not None
        assert worse.certified_climb.approach_percent < cool.certified_climb.approach_percent
        assert worse.certified_climb.landing_percent < cool.certified_climb.landing_percent


def test_without_pressure_there_are_none() -> None:
    blind = {"/weather/reports": ["TAF XKAL 140500Z 1406/1506 26012KT 9999 SCT030"]}
    assert missed(**blind).certified_climb is None


def test_a_failure_leaves_them_those_of_the_sound_aircraft() -> None:
    for failure in ("anti-skid", "engine-1", "hydraulic-1"):
        at = missed(**{"/failures": [{"id": failure}], "/plan/checklist_min": 0})
        assert at.certified_climb is not None
        sound = missed().certified_climb
        assert sound is not None
        assert at.certified_climb.at_least is (failure != "anti-skid")
        assert at.certified_climb.approach_percent == pytest.approx(sound.approach_percent, abs=0.6)


def certified(profile: Profile, *, voided: bool) -> Certification:
    one, both = clean(profile, engines_stopped=1), clean(profile)
    ahead = profile.approach
    return Certification(
        profile=profile,
        approach=replace(one, flap=ahead.go_around_detent, slats_out=True),
        landing=replace(both, flap=ahead.landing_detent, slats_out=True, gear_down=True),
        approach_percent=2.1,
        landing_percent=3.2,
        voided=voided,
    )


@given(
    profile=st.sampled_from([XTJ, XTWIDE]),
    share=st.floats(0.0, 1.0),
    height_ft=st.floats(-1_000.0, 9_000.0),
    deviation=st.floats(-50.0, 40.0),
)
def test_bounds_are_enough_only_where_the_figures_are(
    profile: Profile, share: float, height_ft: float, deviation: float
) -> None:
    masses = profile.masses
    air: dict[str, Any] = {
        "mass_kg": masses.oew_kg + share * (masses.mtow_kg - masses.oew_kg),
        "pressure_altitude_ft": height_ft,
        "isa_deviation_degc": deviation,
    }
    bounds = certified(profile, voided=True).climbs(**air)
    figures = certified(profile, voided=False).climbs(**air)
    assert not figures.at_least
    if bounds.at_least:
        assert 2.1 <= bounds.approach_percent <= figures.approach_percent
        assert 3.2 <= bounds.landing_percent <= figures.landing_percent
        short = figures.approach_percent - bounds.approach_percent
        assert short < 2.0  # no promise, but no idle bound: 1.57 at worst of 36,000 by chance
    else:
        assert bounds == figures


def test_a_landing_with_less_flap_is_certified_for_that() -> None:
    less = missed(**{"/plan/landing_flap": "12"}).certified_climb
    usual = missed().certified_climb
    assert less is not None
    assert usual is not None
    assert less.landing_percent > usual.landing_percent
    assert less.approach_percent > usual.approach_percent


def test_too_heavy_when_sound_is_too_heavy_with_a_failure() -> None:
    """Another failure must not make a course better."""
    at = attempt(certified_climb=CertifiedClimb(approach_percent=2.0, landing_percent=9.0))
    out = replace(at, capability=replace(at.capability, engines_running=1))
    outcomes = {each.rule: each.outcome for each in findings(out, context())}
    assert (outcomes["MA-03"], outcomes["MA-04"]) == (Outcome.FAIL, Outcome.NOT_APPLICABLE)


@pytest.mark.parametrize(
    ("failure", "words"),
    [
        ({"id": "engine-1"}, "an engine out"),
        ({"id": "engine-1-thrust-limited"}, "limited thrust"),
        ({"id": "gear-retraction"}, "gear that does not come up"),
        ({"id": "flaps-jammed", "detent": "6"}, "flaps that do not move as they should"),
        ({"id": "slats-jammed", "position": "out"}, "slats that do not move as they should"),
    ],
)
def test_what_the_figures_depend_on_is_named(failure: dict[str, Any], words: str) -> None:
    left = situation(**{"/failures": [failure]}).capability
    assert words in not_as_certified(left, XTJ)


def test_a_failure_that_they_do_not_depend_on_is_not() -> None:
    left = situation(**{"/failures": [{"id": "anti-skid"}]}).capability
    assert not_as_certified(left, XTJ) == ""


def test_drag_that_a_failure_adds_is_named_too() -> None:
    sound = situation().capability
    assert not_as_certified(replace(sound, drag_increment=0.004), XTJ)


def test_three_engines_have_no_figure_in_the_rows() -> None:
    engine = replace(XTJ.engine, count=3)
    what = context()
    aircraft = replace(what.case.aircraft, profile=replace(XTJ, engine=engine))
    found = findings(
        attempt(),
        replace(what, case=replace(what.case, aircraft=aircraft)),
    )
    outcomes = {each.rule: each.outcome for each in found}
    assert outcomes["MA-03"] is outcomes["MA-04"] is Outcome.NOT_APPLICABLE


def test_too_heavy_to_climb_is_a_breach_of_landing_mass() -> None:
    low = replace(attempt().certified_climb, approach_percent=1.9)
    found = findings(attempt(certified_climb=low), context())
    (broken,) = [each for each in found if each.outcome is Outcome.FAIL]
    assert (broken.rule, broken.breach, broken.breach.endangers) == (
        "MA-03",
        Breach.LANDING_MASS,
        False,
    )
    assert "60000 kg" in broken.text
