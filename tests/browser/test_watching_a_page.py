"""The watch over a page notices what it is there for, and axe what it must not find elsewhere."""

from __future__ import annotations

import pytest
from playwright.sync_api import BrowserContext, Route

from tests.browser.browsing import Happened, axe
from tests.faults.running import Running

STRICT = {"Content-Security-Policy": "default-src 'self'; img-src *", "Content-Type": "text/html"}
WRONG = {
    "console: error": "<p>fine</p><script src='/says.js'></script>",
    "error: ": "<p>fine</p><script src='/throws.js'></script>",
    "foreign: http://other.invalid/": "<img src='http://other.invalid/a.png' alt='a'>",
    "Content Security Policy": "<p style='color: red'>red</p>",
    "answered: 404": "<img src='/nothing-here.png' alt='a'>",
}
SCRIPTS = {"/says.js": "console.error('said')", "/throws.js": "throw new Error('thrown')"}


def serve(context: BrowserContext, origin: str, html: str) -> None:
    def told(route: Route) -> None:
        path = route.request.url.removeprefix(origin)
        if path == "/wrong":
            route.fulfill(body=f"<!doctype html><title>t</title>{html}", headers=STRICT)
        elif path in SCRIPTS:
            route.fulfill(body=SCRIPTS[path], content_type="text/javascript")
        elif path == "/favicon.ico":
            route.fulfill(status=204)
        elif path.startswith("/"):
            route.fulfill(status=404)
        else:
            route.abort()

    context.route("**/*", told)


@pytest.mark.parametrize("kind", WRONG)
def test_what_goes_wrong_in_a_page_is_taken_down(
    context: BrowserContext, service: Running, kind: str
) -> None:
    happened = Happened(origin=service.address)
    happened.watch(context)
    serve(context, service.address, WRONG[kind])
    context.new_page().goto(f"{service.address}/wrong", wait_until="networkidle")
    assert any(kind in line for line in happened.unexpected()), happened.lines
    happened.expect(".")
    assert happened.unexpected() == []


def test_axe_finds_a_field_without_a_name_and_grey_on_grey(context: BrowserContext) -> None:
    page = context.new_page()
    page.set_content(
        "<html lang=en><title>t</title><main><h1>t</h1><input>"
        "<p style='color: #999; background: #aaa'>grey</p></main></html>"
    )
    found = " ".join(axe(page))
    assert "label (critical)" in found
    assert "color-contrast (serious)" in found
