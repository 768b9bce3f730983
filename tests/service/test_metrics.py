from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from decision.version import ENGINE_VERSION
from service.app import create_app
from service.metrics import Metrics, tally_of
from service.settings import ROOT
from service.shared_counts import SHARED_FOLDER
from service.version import VERSION
from tests.case.builders import demo
from tests.service.builders import body, plain_answer, plain_engine, service_settings


def metrics(client: FlaskClient) -> dict[str, float]:
    answer = client.get("/metrics")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].startswith("text/plain; version=")
    lines = [line for line in answer.text.splitlines() if not line.startswith("#")]
    return {name: float(value) for name, _, value in (line.rpartition(" ") for line in lines)}


def counted(client: FlaskClient, name: str) -> dict[str, float]:
    return {key: value for key, value in metrics(client).items() if key.startswith(name)}


def test_requests_are_counted_by_route_method_and_status(client: FlaskClient) -> None:
    client.get("/v1/decisions/0")
    client.get("/v1/decisions/1")
    client.post("/v1/decisions", json=body())
    seen = counted(client, "approach_http_request_seconds_count")
    assert seen == {
        'approach_http_request_seconds_count{method="GET",'
        'route="/v1/decisions/<id>",status="4xx"}': 2,
        'approach_http_request_seconds_count{method="POST",route="/v1/decisions",status="2xx"}': 1,
    }


def test_nothing_that_a_caller_writes_becomes_a_label(client: FlaskClient) -> None:
    client.get("/evil-path?evil=1", headers={"X-Request-ID": "evil"})
    client.open("/v1/decisions", method="EVIL")
    client.post("/v1/decisions", json=body(flight_id="EVIL 1"))
    text = client.get("/metrics").text
    assert "evil" not in text.lower()
    assert 'method="other",route="other",status="4xx"' in text.replace("GET", "other")


def test_decisions_are_counted_by_verdict_and_rulebook_and_rules_by_outcome(
    client: FlaskClient,
) -> None:
    client.post("/v1/decisions", json=body())
    client.post("/v1/decisions?record=false", json=body())
    lines = "\n".join([json.dumps(body()), "{"])
    client.post("/v1/decisions/batch", data=lines.encode(), content_type="application/x-ndjson")
    seen = metrics(client)
    assert seen['approach_decisions_total{rulebook="icao",verdict="NO_GO"}'] == 3
    assert seen['approach_rule_outcomes_total{outcome="FAIL",rule="FU-01"}'] == 3
    assert seen["approach_decision_seconds_count"] == 2, "of a batch only the counts are known"


def test_an_answer_is_tallied_over_every_course() -> None:
    course = {"breaks": [{"rule": "FU-01"}], "open": [{"rule": "LD-01"}]}
    answer = plain_answer(body()) | {"courses": [course] * 2}
    tally = tally_of(answer)
    assert (tally.verdict, tally.rulebook) == ("NO_GO", "icao")
    assert tally.outcomes == {("FU-01", "FAIL"): 2, ("LD-01", "UNKNOWN"): 2}


COUNT_IN_A_PROCESS = """
import sys
from service.metrics import Metrics, Tally
metrics = Metrics()
metrics.decided(Tally(verdict="GO", rulebook="easa", outcomes={}), seconds=0.001)
sys.stdout.write(metrics.text().decode())
"""


def test_the_counts_of_several_processes_are_added_up(tmp_path: Path) -> None:
    told = [
        subprocess.run(
            [sys.executable, "-c", COUNT_IN_A_PROCESS],
            cwd=ROOT,
            env={"PATH": os.environ["PATH"], SHARED_FOLDER: str(tmp_path)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for _ in range(2)
    ]
    line = 'approach_decisions_total{rulebook="easa",verdict="GO"}'
    assert f"{line} 1.0" in told[0]
    assert f"{line} 2.0" in told[1]


@pytest.mark.parametrize("url", ["/metrics?x=1"])
def test_metrics_have_no_parameters(client: FlaskClient, url: str) -> None:
    assert client.get(url).status_code == 422


def test_calls_of_the_store_are_timed_and_told_apart_when_it_is_away(tmp_path: Path) -> None:
    app = create_app(service_settings(tmp_path), engine=plain_engine())
    client = app.test_client()
    client.post("/v1/decisions", json=body())
    client.get("/v1/decisions/0")
    (tmp_path / "decisions.sqlite3").unlink()
    assert client.get("/v1/decisions/0").status_code == 503
    seen = counted(client, "approach_store_seconds_count")
    assert seen == {
        'approach_store_seconds_count{call="record",outcome="answered"}': 1,
        'approach_store_seconds_count{call="find",outcome="answered"}': 1,
        'approach_store_seconds_count{call="find",outcome="failed"}': 1,
    }


def test_batches_and_their_lines_are_counted_by_what_came_of_them(client: FlaskClient) -> None:
    lines = "\n".join([json.dumps(body()), "{", json.dumps(body())])
    answer = client.post(
        "/v1/decisions/batch", data=lines.encode(), content_type="application/x-ndjson"
    )
    assert len(answer.data.splitlines()) == 4
    seen = metrics(client)
    assert seen['approach_batch_lines_total{outcome="decided"}'] == 2
    assert seen['approach_batch_lines_total{outcome="refused"}'] == 1
    assert seen['approach_batch_seconds_count{outcome="whole"}'] == 1


def test_what_came_of_fetching_is_counted_by_kind() -> None:
    metrics_ = Metrics()
    had = {"kind": "observation", "stale": False, "problem": None}
    stale = {"kind": "forecast", "stale": True, "problem": "the source is away"}
    none = {"kind": "forecast", "stale": False, "problem": "the source has none"}
    metrics_.fetched([had, stale, none], seconds=0.2)
    told = metrics_.text().decode()
    assert 'approach_fetched_total{kind="observation",outcome="had"} 1.0' in told
    assert 'approach_fetched_total{kind="forecast",outcome="stale"} 1.0' in told
    assert 'approach_fetched_total{kind="forecast",outcome="failed"} 1.0' in told
    assert "approach_fetch_seconds_count 1.0" in told


def test_the_build_is_told(client: FlaskClient) -> None:
    name = f'approach_build_info{{engine="{ENGINE_VERSION}",version="{VERSION}"}}'
    assert metrics(client)[name] == 1


def test_what_functions_knew_already_is_told(real_client: FlaskClient) -> None:
    for _ in range(2):
        real_client.post("/v1/decisions?record=false", json=demo("clean"))
    seen = counted(real_client, "approach_remembered_looks")
    assert any(value > 0 for name, value in seen.items() if 'outcome="known"' in name)
    assert any(value > 0 for name, value in seen.items() if 'outcome="new"' in name)
