from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.case import installed_library
from decision.errors import OutOfRange
from decision.performance import ceiling_ft
from decision.performance.climb import altitude_at_distance
from decision.profile import Profile
from service.app import create_app
from service.examples import DEMOS
from service.questions import question_of
from service.resources.performance import located
from service.shapes import ClimbQuestion
from service.store import SqlDecisionLog
from tests.changing import replace
from tests.physics.builders import flying
from tests.physics.outcomes import fly_diversion, fly_hold
from tests.profile.tables import (
    LANDING_HEADER,
    MANUAL,
    fuel_csv,
    fuel_rows,
    profile_with,
    with_fuel,
)
from tests.service.builders import service_settings
from tests.service.test_schemas import damaged_cases

PROFILE = installed_library().profile("xtj150")
DIVERSION = {"profile": "xtj150", "mass_kg": 60000, "distance_nm": 200}
LANDING = {
    "profile": "xtj150",
    "mass_kg": 60000,
    "flap": "34",
    "pressure_altitude_ft": 0,
    "condition_code": 5,
}
CLIMB = {"profile": "xtj150", "mass_kg": 60000, "pressure_altitude_ft": 2000, "flap": "20"}
HOLDING = {"profile": "xtj150", "mass_kg": 60000, "pressure_altitude_ft": 5000, "minutes": 20}
EXPANSION: dict[str, Any] = {"profile": "xtj150", "failures": [{"id": "hydraulic-1"}]}


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed engine and data."""
    return create_app(service_settings(tmp_path), log=log).test_client()


def asked(client: FlaskClient, tool: str, body: dict[str, Any], **changes: Any) -> Any:
    answer = client.post(f"/v1/performance/{tool}", json=body | changes)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def test_a_diversion_is_that_of_the_core(client: FlaskClient) -> None:
    flown = fly_diversion(
        PROFILE,
        configuration=flying(gear_down=True),
        mass_kg=60000,
        distance_nm=200,
        start_pressure_altitude_ft=1500,
        end_pressure_altitude_ft=1500,
    )
    answer = asked(client, "diversion", DIVERSION, gear="down")
    assert answer["fuel_kg"] == flown.fuel_kg
    assert answer["time_min"] == flown.time_min
    assert len(answer["steps"]) == len(flown.steps)
    assert answer["fuel_kg"] > asked(client, "diversion", DIVERSION)["fuel_kg"]


def test_a_null_member_is_an_absent_one(client: FlaskClient) -> None:
    assert asked(client, "diversion", DIVERSION, cas_kt=None, gear=None) == asked(
        client, "diversion", DIVERSION
    )


def test_a_diversion_that_cannot_be_flown_has_a_reason_and_no_figures(client: FlaskClient) -> None:
    answer = asked(client, "diversion", DIVERSION, pressure_altitude_ft=45000)
    assert answer["feasible"] is False
    assert answer["limited_by"]
    assert answer["fuel_kg"] is None
    assert answer["steps"] == []


def test_a_landing_is_factored(client: FlaskClient) -> None:
    answer = asked(client, "landing", LANDING)
    assert answer["factored_m"] == pytest.approx(1.15 * answer["distance_m"])
    doubled = asked(client, "landing", LANDING, landing_factor=2)
    assert doubled["factored_m"] == pytest.approx(2 * answer["distance_m"])


def test_a_landing_with_less_to_brake_with_is_longer(client: FlaskClient) -> None:
    whole = asked(client, "landing", LANDING)["distance_m"]
    for lost in (
        {"spoilers": False},
        {"brakes_fraction": 0.5},
        {"anti_skid": "none"},
        {"condition_code": 2},
        {"slats": "in"},
    ):
        assert asked(client, "landing", LANDING, **lost)["distance_m"] > whole


def test_a_landing_that_does_not_end_has_no_distance(client: FlaskClient) -> None:
    answer = asked(client, "landing", LANDING, condition_code=0)
    assert (answer["distance_m"], answer["factored_m"]) == (None, None)
    assert answer["limited_by"]


def test_a_climb_has_its_ceiling(client: FlaskClient) -> None:
    both, single = (asked(client, "climb", CLIMB, engines_running=n) for n in (2, 1))
    assert both["gradient_percent"] > single["gradient_percent"]
    configuration = flying(flap="20", slats_out=True, engines_running=1)
    assert single["ceiling_ft"] == ceiling_ft(
        PROFILE, configuration=configuration, mass_kg=60000, isa_deviation_degc=0
    )


def test_a_hold_is_that_of_the_core(client: FlaskClient) -> None:
    held = fly_hold(
        PROFILE, configuration=flying(), mass_kg=60000, pressure_altitude_ft=5000, minutes=20
    )
    answer = asked(client, "holding", HOLDING)
    assert (answer["fuel_kg"], answer["cas_kt"]) == (held.fuel_kg, held.cas_kt)
    assert answer["flow_kg_per_h"] > 0


def test_a_hold_that_cannot_be_held_has_no_flow(client: FlaskClient) -> None:
    answer = asked(client, "holding", HOLDING, pressure_altitude_ft=42000, engines_running=1)
    assert answer["feasible"] is False
    assert answer["flow_kg_per_h"] is None


@pytest.mark.parametrize(
    ("tool", "body", "changes", "pointer"),
    [
        ("diversion", DIVERSION, {"profile": "none"}, "/profile"),
        ("diversion", DIVERSION, {"flap": "7"}, "/flap"),
        ("diversion", DIVERSION, {"engines_running": 3}, "/engines_running"),
        ("diversion", DIVERSION, {"mass_kg": 9}, "/mass_kg"),
        ("diversion", DIVERSION, {"speed": 9}, "/speed"),
        ("diversion", DIVERSION, {"start_altitude_ft": 44000}, "/start_altitude_ft"),
        ("climb", CLIMB, {"headwind_kt": 200}, "/headwind_kt"),
        ("landing", LANDING, {"reversers": 3}, "/reversers"),
        ("landing", LANDING, {"flap": None}, "/flap"),
        ("climb", CLIMB, {"pressure_altitude_ft": "FL350"}, "/pressure_altitude_ft"),
        ("holding", HOLDING, {"minutes": -1}, "/minutes"),
    ],
)
def test_a_wrong_figure_is_pointed_at(
    client: FlaskClient, tool: str, body: dict[str, Any], changes: dict[str, Any], pointer: str
) -> None:
    answer = client.post(f"/v1/performance/{tool}", json=body | changes)
    assert answer.status_code == 422
    [error] = answer.get_json()["errors"]
    assert error["pointer"] == pointer
    assert error["accepted"]


def test_a_quantity_in_between_is_not_pointed_at() -> None:
    def calculator(_question: ClimbQuestion) -> dict[str, Any]:
        raise OutOfRange("mach", 0.9, low=0.2, high=0.82)

    with pytest.raises(OutOfRange, match="mach"):
        located(calculator, question_of(ClimbQuestion, CLIMB, installed_library()))


def test_failures_are_expanded_with_the_path_to_their_cause(client: FlaskClient) -> None:
    answer = client.post("/v1/failures/expand", json=EXPANSION).get_json()
    lost = {each["function"]: each["because"] for each in answer["capability"]["lost"]}
    assert "gear-retraction" in lost
    assert lost["gear-retraction"][0] == "hydraulic-1"
    assert answer["capability"]["gear"]["retractable"] is False
    assert answer["sentences"]


def test_with_a_way_to_run_the_steps_on_it_are_told_and_the_one_for_good(
    client: FlaskClient,
) -> None:
    way = {"track_nm": 40, "groundspeed_kt": 180}
    answer = client.post("/v1/failures/expand", json=EXPANSION | way).get_json()
    steps = {each["step"]: each for each in answer["timeline"]}
    gear = steps["extend the gear by the alternate system"]
    assert gear["cannot_be_undone"] is True
    assert (gear["distance_to_go_nm"], gear["in_min"], gear["minutes"]) == (10.0, 10.0, 2.0)
    assert gear["because"][0] == "hydraulic-1"
    assert steps["checklists"]["in_min"] == 0.0
    without = client.post("/v1/failures/expand", json=EXPANSION).get_json()
    assert without["timeline"] is None


@pytest.mark.parametrize(
    ("way", "pointer"),
    [
        ({"track_nm": 40}, "/groundspeed_kt"),
        ({"groundspeed_kt": 180}, "/track_nm"),
        ({"track_nm": 2, "groundspeed_kt": 180}, "/track_nm"),
        ({"track_nm": 40, "groundspeed_kt": 30}, "/groundspeed_kt"),
    ],
)
def test_a_way_is_given_whole_and_in_its_range_or_not_at_all(
    client: FlaskClient, way: dict[str, float], pointer: str
) -> None:
    answer = client.post("/v1/failures/expand", json=EXPANSION | way)
    assert answer.status_code == 422
    assert [each["pointer"] for each in answer.get_json()["errors"]] == [pointer]


def test_jammed_surfaces_are_reported_where_they_are(client: FlaskClient) -> None:
    jammed = [{"id": "flaps-jammed", "detent": "12"}, {"id": "slats-jammed", "position": "out"}]
    left = client.post(
        "/v1/failures/expand",
        json=EXPANSION | {"failures": jammed, "flap": "12", "slats": "out"},
    ).get_json()["capability"]
    assert (left["flap"]["position"], left["flap"]["jammed"]) == ("12", True)
    assert (left["slats"]["position"], left["slats"]["movable"]) == ("out", False)


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"failures": [{"id": "no-such"}]}, "/failures/0/id"),
        ({"failures": [{"id": "flaps-jammed"}]}, "/failures/0/detent"),
        ({"failures": [{"id": "slats-jammed", "position": "out"}], "slats": "in"}, "/slats"),
    ],
)
def test_a_contradiction_is_pointed_at_in_the_flat_body(
    client: FlaskClient, changes: dict[str, Any], pointer: str
) -> None:
    answer = client.post("/v1/failures/expand", json=EXPANSION | changes)
    assert answer.status_code == 422
    assert pointer in {error["pointer"] for error in answer.get_json()["errors"]}


def test_reports_are_decoded_in_their_order_and_an_unreadable_one_says_so(
    client: FlaskClient,
) -> None:
    reports = [
        "TAF XAAA 310500Z 3106/3206 24010KT 9999 BKN030",
        "nonsense",
        "METAR XAAA 310550Z 24008KT 9999 BKN030 05/01 Q1013",
    ]
    answer = client.post(
        "/v1/weather/decode", json={"reports": reports, "received_at": "2026-01-31T06:00:00Z"}
    ).get_json()["reports"]
    assert [each["kind"] for each in answer] == ["TAF", None, "METAR"]
    assert [each["raw"] for each in answer] == reports
    assert answer[1]["problems"]
    assert answer[2]["elements"]["wind"]["speed_kt"] == 8


def test_the_data_in_use_have_version_and_digest(client: FlaskClient) -> None:
    for kind in ("profiles", "rulebooks"):
        headings = client.get(f"/v1/{kind}").get_json()[kind]
        assert headings
        for heading in headings:
            whole = client.get(f"/v1/{kind}/{heading['id']}").get_json()
            assert heading.items() <= whole.items()
            assert len(whole["digest"]) == 64


def test_a_profile_lists_the_failures_that_can_be_reported(client: FlaskClient) -> None:
    listed = {each["id"]: each for each in client.get("/v1/profiles/xtj150").get_json()["failures"]}
    assert listed["flaps-jammed"]["needs_detent"] is True
    assert listed["slats-jammed"]["needs_position"] is True
    assert listed["hydraulic-1"]["needs_detent"] is False
    assert listed["fuel-trapped"]["takes_quantity"] is True


def test_a_failure_is_listed_with_what_it_takes_away_by_itself(client: FlaskClient) -> None:
    listed = {each["id"]: each for each in client.get("/v1/profiles/xtj150").get_json()["failures"]}
    taken = listed["gear-retraction"]["takes_away"]
    assert taken == [{"title": "Gear retraction", "kind": "function", "degraded": False}]
    assert listed["gear-retraction"]["cannot_be_undone"] == ["extend the gear"]
    assert listed["gear-retraction"]["urgency"] == "none"


def test_decoded_reports_are_told_word_by_word(client: FlaskClient) -> None:
    raw = "METAR XTOR 140600Z 29010KT 9999 BKN02O 07/04 Q1011"
    question = {"reports": [raw], "received_at": "2026-03-14T06:10:00Z"}
    [told] = client.post("/v1/weather/decode", json=question).get_json()["reports"]
    assert [raw[each["start"] : each["end"]] for each in told["tokens"]] == raw.split()
    assert [each["text"] for each in told["tokens"] if each["meaning"] is None] == ["BKN02O"]
    assert told["consequence"] == "1 group not read, so cloud is not known"


@pytest.mark.parametrize("path", ["profiles/x", "rulebooks/x", "aerodromes/XXXX"])
def test_data_that_are_not_loaded_are_not_found(client: FlaskClient, path: str) -> None:
    assert client.get(f"/v1/{path}").status_code == 404


def test_a_tool_answers_in_json_only(client: FlaskClient) -> None:
    answer = client.get("/v1/profiles", headers={"Accept": "text/html"})
    assert answer.status_code == 406
    assert answer.get_json()["errors"][0]["accepted"] == "application/json"


def test_no_damage_to_a_case_makes_the_service_fail(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    @given(damaged_cases())
    @settings(max_examples=60, derandomize=True, deadline=None, database=None)
    def holds(case: object) -> None:
        before = log.count()
        answer = client.post(
            "/v1/decisions", data=json.dumps(case), content_type="application/json"
        )
        assert answer.status_code in {201, 422}
        assert log.count() - before == (answer.status_code == 201)

    holds()


NUMBER = st.floats(-1e6, 1e6) | st.integers(-10, 100_000)


@pytest.mark.parametrize(
    ("tool", "body"),
    [("diversion", DIVERSION), ("landing", LANDING), ("climb", CLIMB), ("holding", HOLDING)],
)
def test_no_figure_makes_a_calculator_fail(
    client: FlaskClient, tool: str, body: dict[str, Any]
) -> None:
    extra = (
        "headwind_kt",
        "isa_deviation_degc",
        "cas_kt",
        "pressure_altitude_ft",
        "slope_percent",
        "brakes_fraction",
        "start_altitude_ft",
    )
    plausible = st.floats(0, 500) | st.integers(-60, 45_000)

    @given(st.dictionaries(st.sampled_from((*body, *extra)), plausible | NUMBER, max_size=4))
    @settings(max_examples=80, derandomize=True, deadline=None, database=None)
    def holds(changes: dict[str, Any]) -> None:
        changes.pop("profile", None)
        known = {name: value for name, value in changes.items() if name != "flap"}
        answer = client.post(f"/v1/performance/{tool}", json=body | known)
        assert answer.status_code in {200, 422}, answer.text

    holds()


def test_the_headline_pair_is_go_and_no_go(client: FlaskClient) -> None:
    verdicts = {
        name: client.post("/v1/decisions", json=DEMOS[name]).get_json()["verdict"]
        for name in ("clean", "gear-stuck")
    }
    assert verdicts == {"clean": "GO", "gear-stuck": "NO_GO"}


# --- conditions over a window ---

STORMY: dict[str, Any] = {
    "station": "XAAA",
    "reports": [
        "TAF XAAA 310500Z 3106/0106 24010KT 9999 BKN030 TEMPO 3107/3109 1500 TSRA BKN004",
        "METAR XAAA 310550Z 24008KT 9999 BKN030 05/01 Q1013",
        "METAR XAAA 310520Z 24008KT 9999 BKN030 05/01 Q1013",
        "METAR XBBB 310550Z 24008KT 0400 FG VV001 05/05 Q1013",
        "no report at all",
    ],
    "as_of": "2026-01-31T06:00:00Z",
    "window": {"start": "2026-01-31T07:00:00Z", "end": "2026-01-31T07:30:00Z"},
}


def conditions(client: FlaskClient, **changes: Any) -> Any:
    answer = client.post("/v1/weather/conditions", json=STORMY | changes)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def test_the_rulebook_decides_whether_a_transient_group_governs(client: FlaskClient) -> None:
    told = conditions(client)["conditions"]
    assert told["visibility"]["metres"] == 10_000
    assert told["visibility"]["governing"]["kind"] == "BASE"
    assert [each["text"][:5] for each in told["disregarded"]] == ["TEMPO"]
    told = conditions(client, rulebook="faa-121")["conditions"]
    assert told["visibility"]["metres"] == 1500
    assert told["visibility"]["governing"]["text"].startswith("TEMPO 3107/3109 1500")
    assert told["ceiling"]["feet"] == 400
    assert told["thunderstorm"] is True


def test_each_report_in_force_has_its_age_and_the_others_their_reason(client: FlaskClient) -> None:
    told = conditions(client)
    ages = {each["kind"]: (each["age_min"], each["expires_at"]) for each in told["in_force"]}
    assert ages == {"METAR": (10.0, "2026-01-31T06:50:00Z"), "TAF": (60.0, "2026-02-01T06:00:00Z")}
    reasons = {each["raw"]: each["reason"] for each in told["set_aside"]}
    assert "superseded" in reasons[STORMY["reports"][2]]
    assert reasons["no report at all"]
    assert told["other_stations"] == [STORMY["reports"][3]]


def test_a_window_is_told_in_parts_in_which_nothing_changes(client: FlaskClient) -> None:
    window = {"start": "2026-01-31T06:30:00Z", "end": "2026-01-31T07:30:00Z"}
    parts = conditions(client, window=window, rulebook="faa-121")["timeline"]
    edges = [each["window"]["start"] for each in parts] + [parts[-1]["window"]["end"]]
    assert edges[0] == window["start"]
    assert edges[-1] == window["end"]
    assert "2026-01-31T07:00:00Z" in edges
    by_start = {each["window"]["start"]: each["conditions"] for each in parts}
    assert by_start["2026-01-31T07:00:00Z"]["visibility"]["metres"] == 1500


def test_a_time_of_arrival_asks_about_the_quarter_of_an_hour_that_a_decision_looks_at(
    client: FlaskClient,
) -> None:
    at_eta = {"window": None, "eta": "2026-01-31T07:00:00Z", "rulebook": "faa-121"}
    told = conditions(client, **at_eta)["conditions"]
    assert told["window"] == {"start": "2026-01-31T07:00:00Z", "end": "2026-01-31T07:15:00Z"}
    assert told["visibility"]["metres"] == 1500
    longer = conditions(client, **at_eta, minutes=90)["conditions"]["window"]
    assert longer["end"] == "2026-01-31T08:30:00Z"


@pytest.mark.parametrize("changes", [{"eta": "2026-01-31T07:00:00Z"}, {"window": None}])
def test_the_time_is_asked_for_once_and_only_once(
    client: FlaskClient, changes: dict[str, Any]
) -> None:
    answer = client.post("/v1/weather/conditions", json=STORMY | changes)
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == "/window"


def test_what_was_told_by_word_counts_at_its_own_place(client: FlaskClient) -> None:
    now = {"start": "2026-01-31T06:00:00Z", "end": "2026-01-31T06:10:00Z"}
    word = {"icao": "XAAA", "at": "2026-01-31T05:58:00Z", "visibility_m": 800}
    assert conditions(client, window=now)["conditions"]["visibility"]["metres"] == 10_000
    told = conditions(client, window=now, observations=[word])["conditions"]["visibility"]
    assert (told["metres"], told["governing"]["kind"]) == (800, "SPOT")
    elsewhere = conditions(client, window=now, observations=[word | {"icao": "XBBB"}])
    assert elsewhere["conditions"]["visibility"]["metres"] == 10_000


def test_without_a_report_everything_is_unknown_and_says_why(client: FlaskClient) -> None:
    told = conditions(client, reports=[])["conditions"]
    assert told["visibility"]["metres"] is None
    assert told["visibility"]["bound"] == "unknown"
    assert told["ceiling"]["state"] == "unknown"
    assert set(told["unknown"]) >= {"visibility", "cloud", "wind", "weather"}
    assert told["unknown_reasons"]
    assert told["not_at_hand"] == ["no_observation", "no_forecast"]


@pytest.mark.parametrize("end", ["2026-01-31T07:00:00Z", "2026-02-02T07:00:01Z"])
def test_a_window_ends_after_it_starts_and_within_two_days(client: FlaskClient, end: str) -> None:
    window = {"start": "2026-01-31T07:00:00Z", "end": end}
    answer = client.post("/v1/weather/conditions", json=STORMY | {"window": window})
    assert answer.status_code == 422
    assert answer.get_json()["errors"][0]["pointer"] == "/window/end"


def test_a_climb_tells_the_altitude_at_a_distance_when_asked(client: FlaskClient) -> None:
    configuration = flying(flap="20", slats_out=True, engines_running=1)
    reached = altitude_at_distance(
        PROFILE,
        configuration=configuration,
        mass_kg=60000,
        pressure_altitude_ft=2000,
        isa_deviation_degc=0.0,
        distance_nm=8.0,
    )
    answer = asked(client, "climb", CLIMB, engines_running=1, distance_nm=8)
    assert answer["reached"] == {
        "height_gained_ft": reached.height_gained_ft,
        "pressure_altitude_ft": reached.pressure_altitude_ft,
        "levelled_off": False,
    }
    assert asked(client, "climb", CLIMB, engines_running=1)["reached"] is None


def tabled_client(folder: Path, profile: Profile) -> FlaskClient:
    """A client of a service whose demo aircraft has an operator's tables."""
    library = replace(installed_library(), profile=lambda _: profile)
    return create_app(service_settings(folder), library=library).test_client()


def test_the_calculators_answer_by_an_operator_s_tables(tmp_path: Path) -> None:
    rows = fuel_rows(masses=(58_000.0, 62_000.0), levels=(0.0, 20_000.0), speeds=(190.0, 230.0))
    landings = [f"34,6,{kg},{kg / 50:g},{MANUAL}" for kg in (50_000, 66_000)]
    profile = profile_with(
        tmp_path,
        section='fuel_flow = ["fuel.csv"]\nlanding_distance = "landing.csv"\n'
        'other_configurations = "refuse"',
        fuel__csv=fuel_csv(*rows),
        landing__csv="\n".join([LANDING_HEADER, *landings]) + "\n",
    )
    client = tabled_client(tmp_path, profile)
    held = asked(client, "holding", HOLDING)
    assert held["feasible"]
    refused = asked(client, "holding", HOLDING, gear="down")
    assert not refused["feasible"]
    assert "no rows for gear down" in refused["limited_by"]
    landed = asked(client, "landing", LANDING, condition_code=6, reversers=2)
    assert landed["distance_m"] == landed["table_m"] == pytest.approx(60000 / 50)
    beyond = asked(client, "landing", LANDING, condition_code=3, reversers=2)
    assert beyond["distance_m"] is None
    assert "no rows for flap 34 on condition code 3" in beyond["unknown"]
    diverted = asked(client, "diversion", DIVERSION, mass_kg=66000)
    assert (diverted["feasible"], diverted["fuel_kg"]) == (False, None)
    assert "beyond the operator's fuel table" in diverted["limited_by"]


def test_a_profile_tells_the_reach_of_its_tables(client: FlaskClient, tmp_path: Path) -> None:
    rows = fuel_rows(masses=(58_000.0, 62_000.0), levels=(0.0, 20_000.0), speeds=(190.0, 230.0))
    tabled = tabled_client(tmp_path, with_fuel(tmp_path, *rows))
    told = tabled.get("/v1/profiles/xtj150").get_json()["tables"]
    assert len(told) == 1
    assert told[0].startswith("fuel.csv: gear up, flap 0")
    assert client.get("/v1/profiles/xtj150").get_json()["tables"] == []


def test_notices_are_read_item_by_item_and_what_is_not_read_is_listed(client: FlaskClient) -> None:
    question = {
        "notices": [
            "(A0123/26 NOTAMN Q) XXXX/QMRLC/IV/NBO/A/000/999/5129N00028W005 A) XKAL"
            " B) 2603140500 C) 2603141200 EST D) 0600-1000 E) RWY 09L/27R CLSD DUE WIP)",
            {"raw": "(SNOWTAM 0151 XKAL 03140455 09L 5/2/2 100/50/75 NR/06/06 WET/SLUSH/SLUSH)"},
            "nonsense",
        ],
        "received_at": "2026-03-14T06:00:00Z",
    }
    answer = client.post("/v1/notices/decode", json=question)
    assert answer.status_code == 200, answer.text
    closed, condition, nonsense = answer.get_json()["notices"]
    assert (closed["id"], closed["effect"], closed["estimated"]) == ("A0123/26", "closed", True)
    assert closed["unread"] == ["D) 0600-1000"]
    assert [each["code"] for each in condition["conditions"][0]["thirds"]] == [5, 2, 2]
    assert nonsense["unread"] == ["nonsense"]
    refused = client.post("/v1/notices/decode", json={**question, "notices": [{"place": "XKAL"}]})
    assert refused.status_code == 422
    assert "/notices/0/subject" in {each["pointer"] for each in refused.get_json()["errors"]}


def test_a_notice_in_a_request_closes_the_runway_over_http(client: FlaskClient) -> None:
    case = DEMOS["clean"]
    notice = {
        "place": "XKAL",
        "subject": "runway",
        "effect": "closed",
        "runway": "27R",
        "from_at": "2026-03-14T00:00:00Z",
    }
    body = {**case, "notices": [notice], "include": ["findings"]}
    answer = client.post("/v1/decisions", json=body)
    assert answer.status_code == 201, answer.text
    told = answer.get_json()
    assert told["verdict"] == "NO_GO"
    assert told["reports"]["XKAL"]["notices"][0]["in_force"] is True
