"""The service with an operator's aerodromes: read by its settings, listed by pages, by place."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from decision.case.library import AERODROMES
from decision.earth import distance_nm
from decision.errors import DataError
from decision.quantities import Position
from service.aerodromes.__main__ import main
from service.app import create_app
from service.store import SqlDecisionLog
from tests.case.builders import demo
from tests.case.loaded import library, names, spread
from tests.service.builders import service_settings

HERE = Position(latitude_deg=47.2, longitude_deg=-35.95)
MANY = library(spread(1_203, seed=4, around=(47.0, -35.0), reach_deg=8.0))


@pytest.fixture
def many(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A service with more aerodromes than stand on a page."""
    return create_app(service_settings(tmp_path), log=log, library=MANY).test_client()


def listed(client: FlaskClient, query: str = "") -> dict[str, Any]:
    answer = client.get(f"/v1/aerodromes{query}")
    assert answer.status_code == 200, answer.get_data()
    told: dict[str, Any] = answer.get_json()
    return told


def test_all_are_read_page_by_page(many: FlaskClient) -> None:
    found: list[str] = []
    query = "?limit=500"
    for _ in range(3):
        told = listed(many, query)
        assert told["count"] == 1_203
        found += [each["icao"] for each in told["aerodromes"]]
        query = f"?limit=500&after={told['next_after']}"
    assert found == names(1_203)
    assert told["next_after"] is None
    assert len(listed(many)["aerodromes"]) == 1_000
    link = many.get("/v1/aerodromes?limit=500").headers["Link"]
    assert link == '</v1/aerodromes?limit=500&after=XATF>; rel="next"'


def test_a_prefix_finds_indicators_that_begin_so(many: FlaskClient) -> None:
    told = listed(many, "?prefix=XAB")
    assert told["count"] == 26
    assert {each["icao"][:3] for each in told["aerodromes"]} == {"XAB"}
    assert listed(many, "?prefix=Z")["aerodromes"] == []


def test_what_is_near_a_point_comes_nearest_first(many: FlaskClient) -> None:
    told = listed(many, "?near=47.2,-35.95&within_nm=60&limit=5")
    away = {
        icao: distance_nm(start=HERE, end=each.position)
        for icao, each in MANY.aerodromes.items()
        if each.position is not None
    }
    within = sorted((miles, icao) for icao, miles in away.items() if miles <= 60.0)
    assert told["count"] == len(within)
    assert [each["icao"] for each in told["aerodromes"]] == [icao for _, icao in within[:5]]
    assert told["aerodromes"][0]["distance_nm"] == pytest.approx(within[0][0], abs=0.1)
    assert listed(many)["aerodromes"][0]["distance_nm"] is None


@pytest.mark.parametrize(
    "query",
    ["near=91,0", "near=0,181", "near=47", "near=a,b", "prefix=xk", "limit=0", "limit=1001"],
)
def test_a_query_that_means_nothing_is_refused(many: FlaskClient, query: str) -> None:
    assert many.get(f"/v1/aerodromes?{query}").status_code == 422


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An operator's folder: one installed aerodrome under another name, and the rest."""
    made = Path(shutil.copytree(AERODROMES, tmp_path / "places"))
    text = (made / "XMON.toml").read_text(encoding="utf-8")
    (made / "XOWN.toml").write_text(text.replace("XMON", "XOWN"), encoding="utf-8")
    return made


def test_the_service_decides_on_the_folder_of_its_settings(
    folder: Path, tmp_path: Path, log: SqlDecisionLog
) -> None:
    assert main(["compile", str(folder)]) == 0
    settings = service_settings(
        tmp_path, APPROACH_AERODROMES=str(folder), APPROACH_BATCH_PROCESSES="2"
    )
    app = create_app(settings, log=log)
    client = app.test_client()
    assert "XOWN" in [each["icao"] for each in listed(client)["aerodromes"]]
    assert client.get("/v1/aerodromes/XOWN").status_code == 200
    body = {**demo("clean"), "alternates": ["XOWN", "XTOR"]}
    alone = client.post("/v1/decisions?record=false", json=body).get_json()
    assert alone["provenance"]["aerodromes"]["count"] == 6
    lines = "\n".join(json.dumps(body) for _ in range(40))
    batch = client.post(
        "/v1/decisions/batch", data=lines, content_type="application/x-ndjson"
    ).get_data()
    told = [json.loads(each) for each in batch.splitlines()[:-1]]
    assert len(told) == 40
    assert all(
        {**each, "line": 1, "ref": None} == {**alone, "line": 1, "ref": None} for each in told
    )


def test_a_wrong_file_of_the_folder_ends_the_start(
    folder: Path, tmp_path: Path, log: SqlDecisionLog
) -> None:
    (folder / "XOWN.toml").write_text("icao = 3", encoding="utf-8")
    settings = service_settings(tmp_path, APPROACH_AERODROMES=str(folder))
    with pytest.raises(DataError, match=r"XOWN\.toml: source: is required"):
        create_app(settings, log=log)


def test_a_sweep_is_worked_on_with_the_folder_of_the_settings(
    folder: Path, tmp_path: Path, log: SqlDecisionLog
) -> None:
    settings = service_settings(
        tmp_path, APPROACH_AERODROMES=str(folder), APPROACH_BATCH_PROCESSES="2"
    )
    client = create_app(settings, log=log).test_client()
    flight = {**demo("clean"), "alternates": ["XOWN"]}
    swept = client.post("/v1/sweeps", json={"flights": [flight]}).get_data()
    rows = [json.loads(each) for each in swept.splitlines()]
    assert len(rows) > 50
    assert not [each for each in rows if "errors" in each]
