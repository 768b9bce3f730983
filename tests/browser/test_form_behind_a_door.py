"""The form where a key is asked for and the service stands under a path of another."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, expect
from werkzeug.exceptions import NotFound
from werkzeug.middleware.dispatcher import DispatcherMiddleware
from werkzeug.serving import make_server

from service.app import create_app
from service.door.opening import opened_access
from service.keytext import KeyText
from service.store import SqlDecisionLog
from tests.browser.browsing import nothing_wrong
from tests.counts import takes_long
from tests.door.builders import OUTSIDE, House
from tests.page.pages import DEMOS
from tests.service.builders import service_settings

UNDER = "/ops/approach"
NO_SESSION = r"401 GET .*/ops/approach/\?demo=|status of 401"


@pytest.fixture
def door(tmp_path: Path) -> Iterator[tuple[str, KeyText]]:
    """The service with its real engine, keys asked for, under a path; its address and a key."""
    settings = service_settings(tmp_path, **OUTSIDE, APPROACH_BATCH_PROCESSES="1")
    log = SqlDecisionLog.open(settings.store, timeout_s=5)
    app = create_app(settings, log=log)
    house = House(settings=settings, app=app, access=opened_access(settings), log=log)
    mounted = DispatcherMiddleware(NotFound(), {UNDER: app.wsgi_app})
    server = make_server("127.0.0.1", 0, mounted, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}", house.key()
    server.shutdown()
    thread.join(10)
    server.server_close()
    house.close()


def test_a_browser_signs_in_fills_in_the_form_and_decides_under_a_path(
    context: BrowserContext, door: tuple[str, KeyText]
) -> None:
    origin, key = door
    with nothing_wrong(context, origin) as happened:
        happened.expect(NO_SESSION)
        page = context.new_page()
        page.goto(f"{origin}{UNDER}/?demo=gear-stuck")
        expect(page.locator("h1")).to_have_text("Sign in")
        page.get_by_label("Key").fill(key.text)
        page.get_by_role("button", name="Sign in").click()
        expect(page.locator("#c-flight_id")).to_have_value(
            DEMOS["gear-stuck"].request()["flight_id"]
        )
        page.get_by_role("button", name="Decide", exact=True).click()
        page.wait_for_url(f"{origin}{UNDER}/v1/decisions/*")
        expect(page.locator("h1")).to_have_text("DIVERT to XTOR")


@takes_long
def test_a_session_that_ended_is_told_and_nothing_typed_is_lost(
    context: BrowserContext, door: tuple[str, KeyText]
) -> None:
    origin, key = door
    page = context.new_page()
    page.goto(f"{origin}{UNDER}/sign-in")
    page.get_by_label("Key").fill(key.text)
    page.get_by_role("button", name="Sign in").click()
    page.goto(f"{origin}{UNDER}/?demo=gear-stuck")
    fuel = page.locator("#c-fuel-on_board_kg")
    expect(fuel).to_have_value("3450")
    context.clear_cookies()
    fuel.fill("3400")
    page.get_by_role("button", name="Decide", exact=True).click()
    expect(page.locator("#told")).to_contain_text("what you have typed stays")
    link = page.get_by_role("link", name="Sign in in another tab")
    expect(link).to_have_attribute("href", f"{UNDER}/sign-in")
    expect(fuel).to_have_value("3400")
