"""The traps of the rules: what is read differently by different rulebooks, or easily read wrong.

Each is a whole decision with only the rulebook changed, or the rule itself where it is narrower,
and the answer must say why, with its citation. Traps that all rulebooks share (a table, a code
form) are held to the right reading instead.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from decision.attempt.attempt import Role
from decision.attempt.minima import LandingBasis, required_landing_distance_m
from decision.case import Case, case_from_mapping
from decision.profile import load_profile
from decision.rulebooks.rulebook import load_rulebook
from decision.tables import rows
from decision.units import FT_PER_NM, PERCENT
from decision.weather import decode
from decision.weather.runway import Contaminant, matrix_code
from tests.answer.told import told_of
from tests.case.builders import demo, with_changes
from tests.changing import replace
from tests.recommend.generated import metar, taf
from tests.rules.builders import AWAY, PROCEDURE, attempt, context, seen, visibility
from tests.rules.test_rules import FAIL, PASS, Claim, judged

Answer = dict[str, Any]
GOOD = "26010KT 9999 SCT030"
PLACES = ("XKAL", "XBRE", "XTOR")


def reports(**groups: str) -> list[str]:
    """A report and a forecast of every place; `XTOR` for both, `XTOR_TAF` for the forecast."""
    told = []
    for icao in PLACES:
        observed = groups.get(icao, GOOD)
        told += [metar(icao, observed), taf(icao, groups.get(f"{icao}_TAF", observed))]
    return told


def case_under(rulebook: str, changes: Answer, *, of: str = "clean") -> Case:
    return case_from_mapping(with_changes(demo(of), {"/rulebook": rulebook, **changes}))


def told(rulebook: str, changes: Answer, *, of: str = "clean") -> Answer:
    answer: Answer = told_of(case_under(rulebook, changes, of=of))
    return answer


def findings(answer: Answer, rule: str, at: str) -> list[Answer]:
    """What a rule finds at a place, where it applies; once for each thing that it says."""
    found = {
        finding["text"]: finding
        for course in answer["courses"]
        for finding in course["findings"]
        if (finding["rule"], finding["at"]) == (rule, at) and finding["outcome"] != "NOT_APPLICABLE"
    }
    return list(found.values())


def only(answer: Answer, rule: str, at: str) -> Answer:
    found = findings(answer, rule, at)
    assert {finding["outcome"] for finding in found} == {found[0]["outcome"]}
    return found[0]


def test_in_flight_the_bar_is_operating_minima_but_part_121_still_wants_alternate_minima() -> None:
    """[EU-AO] CAT.OP.MPA.245(b) against [CFR-121] 121.631(b): ceiling 400 ft, DH 200 ft."""
    changes = {
        "/weather/reports": reports(XTOR="26010KT 3000 BR BKN004", XBRE="26010KT 3000 BR BKN004")
    }
    european, american = told("easa", changes), told("faa-121", changes)
    assert only(european, "WX-02", "XTOR")["outcome"] == "PASS"
    assert findings(european, "WX-04", "XTOR") == []
    barred = only(american, "WX-04", "XTOR")
    assert (barred["outcome"], barred["limit"]) == ("FAIL", 600.0)
    assert "[CFR-121] 121.631(b)" in barred["citation"]
    assert "below the minimum of 600 ft" in barred["text"]
    onward = "approach_then_divert:XTOR"
    legal = [
        course["legal"]
        for answer in (european, american)
        for course in answer["courses"]
        if course["course"] == onward
    ]
    assert legal == [True, False]


def test_the_planning_bar_is_higher_than_the_one_in_flight() -> None:
    """[EU-AO-PLANNING] AMC6: DH + 200 ft, RVR + 800 m, over an hour either side."""
    changes = {"/weather/reports": reports(XBRE="26010KT 3000 BR BKN003")}
    flying = told("easa", changes)
    planning = told("easa", {**changes, "/policy/alternate_bar": "planning"})
    assert only(flying, "WX-02", "XBRE")["outcome"] == "PASS"
    barred = only(planning, "WX-02", "XBRE")
    assert (barred["outcome"], barred["limit"]) == ("FAIL", 400.0)


def test_visibility_is_converted_in_flight_in_europe_and_looked_up_in_the_united_states() -> None:
    """[EU-AO] AMC10 CAT.OP.MPA.110: at night x 1.5; [CFR-91] 91.175(h)(2): no RVR of 550 m."""
    changes = {"/weather/reports": reports(XKAL="26003KT 0400 FG BKN002")}
    european, american = told("easa", changes), told("faa-121", changes)
    open_here = only(european, "AP-02", "XKAL")
    assert (open_here["outcome"], open_here["value"]) == ("PASS", 600.0)
    assert "[EU-AO] CAT.OP.MPA.305" in open_here["citation"]
    barred = only(american, "AP-02", "XKAL")
    assert (barred["outcome"], barred["value"]) == ("FAIL", 400.0)
    assert "[CFR-121] 121.651(b)" in barred["citation"]
    assert "may be started" in barred["text"]


def test_for_planning_visibility_counts_as_it_stands() -> None:
    """[EU-AO] AMC10 CAT.OP.MPA.110: factor 1.0. 1200 m x 1.5 would be enough for 1350 m."""
    changes = {"/weather/reports": reports(XBRE="26010KT 1200 BR BKN010")}
    assert only(told("easa", changes), "WX-01", "XBRE")["value"] == 1800.0
    planned = told("easa", {**changes, "/policy/alternate_bar": "planning"})
    short = only(planned, "WX-01", "XBRE")
    assert (short["outcome"], short["value"], short["limit"]) == ("FAIL", 1200.0, 1350.0)


HIGH = {
    "icao": "XBRE",
    "elevation_ft": 5000,
    "track_nm": 60,
    "track_from_present_nm": 80,
    "runways": [{"ident": "23", "true_bearing_deg": 230, "lda_m": 4000, "condition_code": 6}],
    "approaches": [{"id": "A", "runway": "23", "kind": "3D-B", "dh_ft": 200, "visibility_m": 800}],
}


@pytest.mark.parametrize("elevation_ft", [0, 5000])
def test_additions_are_made_to_heights_which_a_ceiling_is_reported_in(elevation_ft: int) -> None:
    """[FAA-C055]: 400 ft on the height above touchdown; [EU-AO-PLANNING]: 200 ft on the same."""
    changes = {
        "/policy/alternate_bar": "planning",
        "/alternates/0": {**HIGH, "elevation_ft": elevation_ft},
        "/weather/reports": reports(XBRE="26010KT 9999 BKN005"),
    }
    european, american = told("easa", changes), told("faa-121", changes)
    assert only(european, "WX-02", "XBRE")["limit"] == 400.0
    assert only(european, "WX-02", "XBRE")["outcome"] == "PASS"
    assert only(american, "WX-02", "XBRE")["limit"] == 600.0
    assert only(american, "WX-02", "XBRE")["outcome"] == "FAIL"


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_a_ceiling_bars_no_approach_but_does_bar_an_alternate(rulebook: str) -> None:
    """[EU-AO] CAT.OP.MPA.305, [CFR-121] 121.651(b), [ICAO-ANNEX6] 4.4.1.2: reported visibility."""
    low = "26010KT 9999 OVC001"
    answer = told(rulebook, {"/weather/reports": reports(XKAL=low, XBRE=low)})
    assert only(answer, "AP-02", "XKAL")["outcome"] == "PASS"
    assert only(answer, "WX-02", "XBRE")["outcome"] == "FAIL"
    assert "MISS_LIKELY" in {caution["code"] for caution in answer["cautions"]}


def test_the_rule_on_alternates_of_part_121_has_no_wet_factor() -> None:
    """[CFR-121] 121.195(d) and 121.197: 1.917 at the destination and 1.667 at the alternate."""
    wet = {
        (book, basis): required_landing_distance_m(
            1000.0, basis=basis, rulebook=load_rulebook(book)
        )
        for book in ("easa", "faa-121")
        for basis in (LandingBasis.DISPATCH_WET, LandingBasis.DISPATCH_ALTERNATE_WET)
    }
    assert {key: round(found.factor, 3) for key, found in wet.items()} == {
        ("easa", LandingBasis.DISPATCH_WET): 1.917,
        ("easa", LandingBasis.DISPATCH_ALTERNATE_WET): 1.917,
        ("faa-121", LandingBasis.DISPATCH_WET): 1.917,
        ("faa-121", LandingBasis.DISPATCH_ALTERNATE_WET): 1.667,
    }
    american = wet["faa-121", LandingBasis.DISPATCH_ALTERNATE_WET]
    assert "[CFR-121] 121.197" in american.because[-1]


def test_a_gear_that_stays_down_voids_the_certified_climb_and_is_judged_as_it_is() -> None:
    """[CFR-25] 25.121(d) is with the gear up: the gradient here is that of the stuck aircraft."""
    one_engine = {"id": "engine-1"}
    up = told("icao", {"/failures": [one_engine]}, of="engine-out-gradient")
    stuck = {"/failures": [one_engine, {"id": "gear-retraction"}], "/aircraft/gear": "down"}
    down = told("icao", stuck, of="engine-out-gradient")
    retracted, extended = (findings(answer, "MA-01", "XMON")[0] for answer in (up, down))
    assert extended["value"] < retracted["value"] - 1.0
    assert extended["outcome"] == "FAIL"
    assert "one engine out" in extended["text"]


@pytest.mark.parametrize(
    ("percent", "icao", "american"),
    [(2.1, FAIL, FAIL), (2.5, PASS, FAIL), (3.2, PASS, FAIL), (3.3, PASS, PASS)],
)
def test_the_certified_climb_meets_neither_procedure_and_the_two_differ(
    percent: float, icao: object, american: object
) -> None:
    """2.1 % [CFR-25] < 2.5 % [PANS-OPS-I] < 200 ft/NM, which is 3.29 % [FAA-AIM]."""
    bare = attempt(
        approach=replace(PROCEDURE, missed_gradient_percent=None),
        climb=replace(AWAY, ground_gradient_percent=percent),
    )
    first = judged(Claim("MA-01", "", bare, PASS, "icao"))
    second = judged(Claim("MA-01", "", bare, PASS, "faa-121"))
    assert (first.outcome, second.outcome) == (icao, american)
    assert first.judgement.limit == 2.5
    assert second.judgement.limit == pytest.approx(200.0 / FT_PER_NM * PERCENT)
    assert "[PANS-OPS-I]" in first.citation
    assert "[FAA-AIM] 5-4-21 b" in second.citation


@pytest.mark.parametrize(
    ("contaminant", "code"),
    [
        (Contaminant.STANDING_WATER, 2),
        (Contaminant.SLUSH, 2),
        (Contaminant.DRY_SNOW, 3),
        (Contaminant.WET_SNOW, 3),
    ],
)
def test_more_than_three_millimetres_of_water_or_slush_is_worse_than_of_snow(
    contaminant: Contaminant, code: int
) -> None:
    """[GRF]: some public code maps water to 3."""
    assert matrix_code(contaminant, depth_mm=4.0, temperature_degc=1.0) == code
    assert matrix_code(contaminant, depth_mm=3.0, temperature_degc=1.0) == 5


def with_mean_limits(case: Case) -> Case:
    """The same aircraft, with wind limits that leave gusts to the rulebook."""
    profile = load_profile("xtj150")
    limits = replace(profile.wind, gust_included=False)
    return replace(case, aircraft=replace(case.aircraft, profile=replace(profile, wind=limits)))


def test_a_forecast_gust_counts_in_the_united_states_and_not_in_europe() -> None:
    """[FAA-C055] b(3): wind including gust; [EU-AO-FORECAST]: the mean wind; runway 23 at XBRE."""
    others = [report for report in reports() if "XBRE" not in report]
    changes = {"/weather/reports": [*others, taf("XBRE", "32020G45KT 9999 SCT030")]}
    european, american = (
        told_of(with_mean_limits(case_under(book, changes))) for book in ("easa", "faa-121")
    )
    mean, gust = only(european, "WD-01", "XBRE"), only(american, "WD-01", "XBRE")
    assert (mean["outcome"], round(mean["value"])) == ("PASS", 20)
    assert (gust["outcome"], round(gust["value"])) == ("FAIL", 45)
    assert "with its gust [FAA-C055] b(3)" in gust["text"]
    assert "gusts up to 45 kt do not count [ASSUMED]" in mean["text"]
    for finding in (mean, gust):
        assert finding["citation"].startswith(("[EU-AO] Regulation", "[CFR-91] 91.9(a)"))


def test_an_aircraft_whose_limits_include_gusts_counts_them_in_every_rulebook() -> None:
    gusty = "32020G45KT 9999 SCT030"
    answer = told("easa", {"/weather/reports": reports(XBRE=gusty)})
    assert only(answer, "WD-01", "XBRE")["outcome"] == "FAIL"


CIRCLING = {
    "icao": "XBRE",
    "elevation_ft": 400,
    "track_nm": 60,
    "track_from_present_nm": 80,
    "runways": [{"ident": "23", "true_bearing_deg": 230, "lda_m": 4000, "condition_code": 6}],
    "approaches": [
        {"id": "C", "runway": "23", "kind": "circling", "mdh_ft": 600, "visibility_m": 2400}
    ],
}


def test_flaps_that_jam_raise_the_category_and_with_it_circling_minima() -> None:
    """[EU-AO] category D: 700 ft and 3600 m, C: 600 ft and 2400 m; part 121 as published."""
    changes = {
        "/alternates/0": CIRCLING,
        "/weather/reports": reports(XBRE="23010KT 3000 BR BKN006"),
    }
    jam = {"id": "flaps-jammed", "detent": "6"}
    jammed = {**changes, "/failures": [jam], "/aircraft/flap": "6", "/aircraft/slats": "out"}
    limits = {
        (book, failed): tuple(
            only(told(book, jammed if failed else changes), rule, "XBRE")["limit"]
            for rule in ("WX-02", "WX-01")
        )
        for book in ("easa", "faa-121")
        for failed in (False, True)
    }
    assert limits == {
        ("easa", False): (600.0, 2400.0),
        ("easa", True): (700.0, 3600.0),
        ("faa-121", False): (600.0, 2400.0),
        ("faa-121", True): (600.0, 2400.0),
    }
    assert only(told("easa", jammed), "WX-01", "XBRE")["outcome"] == "FAIL"
    assert only(told("faa-121", jammed), "WX-01", "XBRE")["outcome"] == "PASS"


def test_braking_coefficients_are_without_the_footnote_digits_of_scraped_copies() -> None:
    """[AC25-32] table 2: 0.20, not 0.203."""
    columns = frozenset(
        {
            "condition_code",
            "surface",
            "method",
            "coefficient",
            "planing_coefficient",
            "never_better_than_code",
            "note",
        }
    )
    found = {
        row.text("condition_code"): (row.cells["coefficient"], row.cells["planing_coefficient"])
        for row in rows("wheel_braking.csv", columns=columns)
    }
    assert found == {
        "6": ("", ""),
        "5": ("", ""),
        "4": ("0.20", ""),
        "3": ("0.16", ""),
        "2": ("0.16", "0.05"),
        "1": ("0.08", ""),
        "0": ("", ""),
    }


def test_from_has_six_digits_in_a_forecast_and_four_in_a_trend() -> None:
    """[WMO-306]: FM101015 is the 10th at 10:15, FM1015 is 10:15 of the day of the report."""
    at = datetime(2026, 3, 10, 9, 0, tzinfo=UTC)
    forecast = decode(
        "TAF XKAL 100500Z 1006/1112 26010KT 9999 SCT030 FM101015 18005KT 6000 OVC020",
        received_at=at,
    )
    trend = decode(
        "METAR XKAL 100850Z 26010KT 9999 SCT030 10/06 Q1013 BECMG FM1015 6000", received_at=at
    )
    quarter_past = datetime(2026, 3, 10, 10, 15, tzinfo=UTC)
    assert forecast.periods[-1].start_at == quarter_past
    assert [period.start_at for period in trend.trend] == [quarter_past]


VARYING = "METAR XTOR 140600Z 26010KT 6000 SCT001 BKN022 08/07 Q1013 RMK SCT001 V BKN"


def test_cloud_that_varies_to_a_ceiling_counts_for_one_rulebook_and_is_a_doubt_elsewhere() -> None:
    """[FAA-C055] b(4): the worst of body and remarks; elsewhere it is not known to be enough."""
    changes = {"/weather/reports": [*(r for r in reports() if "XTOR" not in r), VARYING]}
    american, european = told("faa-121", changes), told("easa", changes)
    counted, doubted = only(american, "WX-02", "XTOR"), only(european, "WX-02", "XTOR")
    assert (counted["outcome"], counted["value"]) == ("FAIL", 100.0)
    assert "a remark speaks of 100 ft [FAA-C055]" in counted["text"]
    assert (doubted["outcome"], doubted["value"]) == ("UNKNOWN", 2200.0)
    assert "but a remark speaks of 100 ft" in doubted["text"]


def test_a_visibility_that_varies_is_read_in_the_same_way() -> None:
    body = replace(visibility(3000.0), possible_metres=300.0)
    claims = [
        Claim("WX-01", "", attempt(role=Role.ALTERNATE, weather=seen(visibility=body)), PASS, book)
        for book in ("easa", "faa-121")
    ]
    doubted, counted = (judged(claim) for claim in claims)
    assert (doubted.outcome.value, counted.outcome) == ("UNKNOWN", FAIL)
    assert counted.judgement.value == 300.0
    assert "a remark speaks of 300 m" in doubted.text


def test_a_remark_above_the_minimum_leaves_no_doubt() -> None:
    body = replace(visibility(3000.0), possible_metres=1500.0)
    for book in ("easa", "faa-121"):
        at = attempt(role=Role.ALTERNATE, weather=seen(visibility=body))
        assert judged(Claim("WX-01", "", at, PASS, book)).outcome is PASS
    assert context("faa-121").rulebook.row("forecast_reading").cite == "FAA-C055"
