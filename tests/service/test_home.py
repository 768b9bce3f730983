from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from service.resources import VIEWS


def test_the_root_leads_to_every_address(client: FlaskClient) -> None:
    told = client.get("/").get_json()
    assert "Advice only" in told["advice"]
    assert [(link["method"], link["path"]) for link in told["links"]] == [
        (view.address.method, view.address.template) for view in VIEWS
    ]


@pytest.mark.parametrize("path", ["/docs", "/v1/aerodromes", "/openapi.json", "/healthz"])
def test_what_the_root_leads_to_is_there(client: FlaskClient, path: str) -> None:
    assert {"method": "GET", "path": path} in [
        {"method": link["method"], "path": link["path"]}
        for link in client.get("/").get_json()["links"]
    ]
    assert client.get(path).status_code == 200


def test_the_root_is_text_for_whoever_asks_for_text(client: FlaskClient) -> None:
    answer = client.get("/", headers={"Accept": "text/plain"})
    assert answer.mimetype == "text/plain"
    lines = answer.text.splitlines()
    assert lines[0].startswith("Approach decisions ")
    assert len(lines) == len(VIEWS) + 3


def test_a_demo_case_is_told_with_what_it_shows_and_can_be_posted(
    real_client: FlaskClient,
) -> None:
    demos = real_client.get("/v1/demos").get_json()["demos"]
    assert len(demos) > 20
    assert all(each["title"] and each["meaning"] for each in demos)
    [stuck] = [each for each in demos if each["name"] == "gear-stuck"]
    answer = real_client.post("/v1/decisions?record=false", json=stuck["request"])
    assert (answer.status_code, answer.get_json()["verdict"]) == (200, "NO_GO")
