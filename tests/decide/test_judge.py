"""What a broken rule means for a course, and what is judged where nothing is described."""

from __future__ import annotations

from typing import Any

import pytest

from decision.decide.judge import JudgedCourse, legality
from decision.rulebooks.rulebook import Force
from decision.rules.finding import Outcome
from decision.rules.row import Breach
from tests.case.builders import REMOVED
from tests.decide.builders import judged_in, situation
from tests.decide.by_hand import broken, finding, open_question, passed
from tests.decide.by_hand import course as laid_out

AWAY = "approach_then_divert:XKAL"
LOW = "METAR XMON 140600Z 34008KT 9999 OVC001 12/05 Q1012"
# Above the operating minima of a category I approach, below what planning adds to them.
BETWEEN = "24009KT 3000 BR OVC003"


def judged(name: str = "clean", /, **changes: Any) -> dict[str, JudgedCourse]:
    seen = situation(name, **changes)
    return {each.course.label: each for each in judged_in(seen)}


def breach(course: JudgedCourse, rule: str) -> Breach:
    broken = (*course.breaches, *course.advised_against)
    return next(finding.breach for finding in broken if finding.rule == rule)


def test_a_gradient_that_is_missed_weighs_more_when_a_miss_is_likely() -> None:
    clear = judged("engine-out-gradient")[AWAY]
    cloudy = judged("engine-out-gradient", **{"/weather/reports/0": LOW})[AWAY]
    assert breach(clear, "MA-01") is Breach.GRADIENT
    assert breach(cloudy, "MA-01") is Breach.OBSTACLES
    assert "MA-01" in {each.rule for each in clear.advised_against}  # one engine out: guidance
    assert "MA-01" in {each.rule for each in cloudy.breaches}  # and yet it endangers


@pytest.mark.parametrize(
    ("groups", "weighed"),
    [(BETWEEN, Breach.PLANNING_BAR), ("24009KT 0200 FG OVC001", Breach.BELOW_MINIMA)],
)
def test_missing_the_planning_bar_alone_weighs_least(groups: str, weighed: Breach) -> None:
    course = judged(
        **{
            "/policy/alternate_bar": "planning",
            "/weather/reports/2": f"METAR XBRE 140600Z {groups} 10/06 Q1014",
            "/weather/reports/3": f"TAF XBRE 140500Z 1406/1506 {groups}",
        }
    )["divert_now:XBRE"]
    assert course.legal is False
    assert breach(course, "WX-02") is weighed


def test_the_planning_window_does_not_reach_into_the_past() -> None:
    """An hour before a near arrival is over already, and nothing in force tells its weather."""
    course = judged(**{"/policy/alternate_bar": "planning"})["divert_now:XBRE"]
    assert course.legal is True
    window = course.course.attempts[-1].window
    assert window.start_at == course.course.start_at
    assert (window.end_at - window.start_at).total_seconds() > 5000


def test_without_a_described_procedure_the_approach_is_unknown_and_never_legal() -> None:
    place = {
        "icao": "XNEW",
        "elevation_ft": 100,
        "track_nm": 42,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 2500}],
        "approaches": [],
    }
    report = "METAR XNEW 140600Z 26011KT 9999 SCT030 08/04 Q1013"
    courses = judged(
        **{"/destination": place, "/plan/approach": REMOVED, "/weather/reports/0": report}
    )
    unknown = {
        finding.rule for finding in courses["commit_to_land:XNEW"].of_outcome(Outcome.UNKNOWN)
    }
    assert {"AP-01", "AP-02", "MA-01", "CM-01", "CM-02"} <= unknown
    assert all(each.legal is not True for each in courses.values() if "now" not in each.course.kind)


def test_legality_has_three_values() -> None:
    """True, or None where something is unknown and nothing that binds fails, or False."""
    courses = judged("alternate-weather-missing")
    assert courses["second_approach:XKAL"].legal is True
    assert courses["divert_now:XBRE"].legal is None
    assert courses["approach_then_divert:XBRE"].legal is not True
    assert legality(()) is True


FOUND = {
    "kept": finding("AD-01", passed()),
    "open": open_question("AD-02"),
    "broken": broken("AD-03", Breach.LANDING_MASS),
    "policy": broken("AD-04", Breach.LANDING_MASS, force=Force.POLICY),
    "advised": broken("AD-05", Breach.GUIDANCE, force=Force.GUIDANCE),
    "endangering": broken("AD-06", Breach.OBSTACLES, force=Force.GUIDANCE),
}


@pytest.mark.parametrize(
    ("names", "legal", "breaches", "advised"),
    [
        (["kept"], True, [], []),
        (["kept", "open"], None, [], []),
        (["open", "broken"], False, ["AD-03"], []),
        (["policy"], False, ["AD-04"], []),
        (["kept", "advised"], True, [], ["AD-05"]),
        (["open", "advised"], None, [], ["AD-05"]),
        (["endangering"], False, ["AD-06"], []),
        (["broken", "endangering", "advised"], False, ["AD-06", "AD-03"], ["AD-05"]),
    ],
)
def test_guidance_is_advice_unless_breaking_it_endangers(
    names: list[str], legal: bool | None, breaches: list[str], advised: list[str]
) -> None:
    course = laid_out("XAAA", found=tuple(FOUND[name] for name in names))
    assert course.legal is legal
    assert [each.rule for each in course.breaches] == breaches
    assert [each.rule for each in course.advised_against] == advised
    assert course.endangers is ("endangering" in names)
    assert course.worst == (course.breaches[0].breach if breaches else None)


def test_findings_are_complete_and_in_the_order_of_their_codes() -> None:
    courses = judged("gear-stuck")
    assert courses
    for each in courses.values():
        assert {"AP-01", "ER-01", "FU-01", "FU-02", "LD-01", "WD-01"} <= {
            finding.rule for finding in each.found
        }
        for outcome in Outcome:
            codes = [finding.rule for finding in each.of_outcome(outcome)]
            assert codes == sorted(codes)
        gravity = [finding.breach for finding in each.breaches]
        assert gravity == sorted(gravity)
