"""A page of the service in a browser, everything that must not happen there, and axe."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any, Final

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request, Response

AXE: Final = files("axe_playwright_python") / "axe.min.js"
GRAVE: Final = ("serious", "critical")
FAILED_FROM: Final = 400
QUIET: Final = ("log", "debug", "info")
OWN: Final = ("data:", "blob:", "about:")
GIVEN_UP: Final = re.compile(r"failed: GET \S+/icon\.svg net::ERR_ABORTED$")  # its page was left

WIDTHS_PX: Final = (390, 1024, 1280)
STYLES: Final[dict[str, dict[str, Any]]] = {
    "light": {"media": "screen", "color_scheme": "light"},
    "dim": {"media": "screen", "color_scheme": "dark"},
    "print": {"media": "print", "color_scheme": "light"},
}
HEIGHT_PX: Final = 900


@dataclass(kw_only=True)  # no slots: the library keeps what it wraps on it
class Happened:
    """What went wrong in a browser, one line each; a test may expect some of it."""

    origin: str
    lines: list[str] = field(default_factory=list)
    _expected: list[re.Pattern[str]] = field(default_factory=lambda: [GIVEN_UP])

    def expect(self, pattern: str) -> None:
        """Leave out lines in which a pattern is found: what the test provokes."""
        self._expected.append(re.compile(pattern))

    def unexpected(self) -> list[str]:
        """The lines that nobody expects."""
        return [each for each in self.lines if not any(p.search(each) for p in self._expected)]

    def watch(self, context: BrowserContext) -> None:
        """Take down what happens in any page of a context; what its policy forbids is an error."""
        context.on("console", self._said)
        context.on("weberror", lambda error: self.lines.append(f"error: {error.error}"))
        context.on("request", self._asked)
        context.on("requestfailed", self._failed)
        context.on("response", self._answered)

    def _said(self, message: ConsoleMessage) -> None:
        if message.type not in QUIET:
            self.lines.append(f"console: {message.type}: {message.text}")

    def _asked(self, request: Request) -> None:
        if not request.url.startswith((f"{self.origin}/", *OWN)):
            self.lines.append(f"foreign: {request.url}")

    def _failed(self, request: Request) -> None:
        self.lines.append(f"failed: {request.method} {request.url} {request.failure}")

    def _answered(self, response: Response) -> None:
        if response.status >= FAILED_FROM:
            asked = response.request.method
            self.lines.append(f"answered: {response.status} {asked} {response.url}")


def shown_as(page: Page, *, width_px: int, style: str) -> None:
    """Have a page shown so wide, in one of the styles."""
    page.set_viewport_size({"width": width_px, "height": HEIGHT_PX})
    page.emulate_media(**STYLES[style])


@cache
def _axe_text() -> str:
    return AXE.read_text(encoding="utf-8")


def axe(page: Page, *, contrast: bool = True) -> list[str]:
    """What axe finds serious or critical on a page as it is shown: rule, place, why.

    `contrast`: whether that of each text is measured, which takes most of the time.
    """
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(_axe_text())
    found = page.evaluate(
        """(contrast) => axe.run(document, {
            resultTypes: ['violations'],
            preload: false,
            rules: {'color-contrast': {enabled: contrast}},
        })""",
        contrast,
    )
    return [
        f"{each['id']} ({each['impact']}): {node['target']}: {node['failureSummary']}"
        for each in found["violations"]
        if each["impact"] in GRAVE
        for node in each["nodes"]
    ]


@contextmanager
def nothing_wrong(context: BrowserContext, origin: str) -> Iterator[Happened]:
    """A context in which nothing goes wrong that is not expected. Raises: AssertionError."""
    happened = Happened(origin=origin)
    happened.watch(context)
    yield happened
    if wrong := happened.unexpected():
        raise AssertionError("\n".join(wrong))
