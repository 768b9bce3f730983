"""One server for all tests of a process, a browser for each module, a fresh context for each test.

The browser is the system's (Debian's package `chromium`); without it the tests are skipped and say
so. It is begun for each module, since its library leaves an event loop running in the thread, in
which other tests could run none of their own.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.browser.browsing import HEIGHT_PX, Happened, nothing_wrong
from tests.browser.moment import MOMENT
from tests.faults.running import Running, running
from tests.page.pages import DEMOS

BROWSER = "chromium"
DECIDED_AT = "2026-03-14T06:10:30Z"  # half a minute after the demo cases
ACTION_MS = 10_000
INCLUDED = ("ahead", "flip_points", "uncertainty", "findings")


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The service in processes of its own, on the morning of the demo cases."""
    folder = tmp_path_factory.mktemp("browser")
    with running(folder, module="tests.browser.moment", **{MOMENT: DECIDED_AT}) as found:
        yield found


@pytest.fixture(scope="session")
def decided(service: Running) -> Callable[[str], str]:
    """The path of the decision on a demo case, with everything that can be included."""

    @cache
    def path_of(name: str) -> str:
        answer = service.ask("/v1/decisions", {**DEMOS[name].request(), "include": list(INCLUDED)})
        assert answer.status == 201, answer.content
        return f"/v1/decisions/{answer.json()['id']}"

    return path_of


@pytest.fixture
def request_with_four_alternates() -> dict[str, Any]:
    """A case with more courses than a sheet has room for."""
    body = {**DEMOS["gear-stuck"].request(), "include": ["ahead"]}
    return {**body, "alternates": ["XTOR", "XBRE", "XMON", "XSUN"]}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """The system's Chromium; skipped where there is none."""
    program = shutil.which(BROWSER)
    if program is None:
        pytest.skip(f"{BROWSER} is not installed: nothing was looked at in a browser")
    arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
    with sync_playwright() as library:
        found = library.chromium.launch(executable_path=program, args=arguments)
        yield found
        found.close()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A browser that knows nothing yet: no cookie, no store."""
    found = browser.new_context(
        viewport={"width": 1280, "height": HEIGHT_PX}, timezone_id="UTC", locale="en-GB"
    )
    found.set_default_timeout(ACTION_MS)
    yield found
    found.close()


@pytest.fixture
def happened(context: BrowserContext, service: Running) -> Iterator[Happened]:
    """Fails the test for what goes wrong: console, errors, foreign requests, failed answers."""
    with nothing_wrong(context, service.address) as found:
        yield found


@pytest.fixture
def page(context: BrowserContext, happened: Happened) -> Page:
    """An empty page that is watched."""
    assert happened.lines == []
    return context.new_page()
