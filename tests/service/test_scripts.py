"""The scripts of the pages: served whole, and written so that they cannot run what is shown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.page import ICON, scripts
from service.store import SqlDecisionLog
from tests.service.builders import service_settings

IMPORTED = re.compile(r'from "\./([\w-]+\.js)"')
NEVER = ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "new Function")


@pytest.fixture
def client(tmp_path: Path, log: SqlDecisionLog) -> FlaskClient:
    """A client of the installed service."""
    return create_app(service_settings(tmp_path), log=log).test_client()


@pytest.mark.parametrize("name", sorted(scripts()))
def test_a_script_is_served_as_a_module_that_may_be_kept(client: FlaskClient, name: str) -> None:
    answer = client.get(f"/assets/{name}")
    assert answer.mimetype == "text/javascript"
    assert answer.text == scripts()[name]
    assert (
        client.get(f"/assets/{name}", headers={"If-None-Match": answer.headers["ETag"]}).status_code
        == 304
    )


@pytest.mark.parametrize("name", ["ask", "../decision.py", "ask.js.map"])
def test_no_other_file_is_served(client: FlaskClient, name: str) -> None:
    assert client.get(f"/assets/{name}").status_code == 404


@pytest.mark.parametrize("name", sorted(scripts()))
def test_a_script_imports_only_what_is_there_and_never_makes_markup_of_text(name: str) -> None:
    text = scripts()[name]
    assert set(IMPORTED.findall(text)) <= set(scripts())
    assert [word for word in NEVER if word in text] == []


def test_a_page_names_the_sign_of_its_tab_which_is_served(client: FlaskClient) -> None:
    shown = client.get("/docs").text
    assert '<link rel="icon" type="image/svg+xml" href="/icon.svg">' in shown
    answer = client.get("/icon.svg")
    assert answer.mimetype == "image/svg+xml"
    assert answer.data == ICON
