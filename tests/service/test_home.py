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
