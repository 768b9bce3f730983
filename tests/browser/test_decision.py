"""The page of a decision in a browser: every width and style, on screen and on paper."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page

from tests.browser.browsing import STYLES, WIDTHS_PX, axe, shown_as
from tests.faults.running import Running

OF_EACH_FIGURE = ("gear-stuck", "wait-for-fog", "engine-out-gradient", "time-critical")
"""Demo cases whose pages have, together, each kind of figure."""


@pytest.mark.parametrize("name", OF_EACH_FIGURE)
def test_axe_finds_nothing_serious_on_a_decision(
    page: Page, service: Running, decided: Callable[[str], str], name: str
) -> None:
    page.goto(f"{service.address}{decided(name)}")
    for width_px in WIDTHS_PX:
        for style in STYLES:
            shown_as(page, width_px=width_px, style=style)
            assert axe(page) == [], (width_px, style)
