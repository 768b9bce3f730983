"""Two decisions compared by hand in a browser."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.browser.browsing import axe, shown_as
from tests.faults.running import Running


def test_a_decision_is_set_beside_another_and_the_other_way_round(
    page: Page, service: Running, decided: Callable[[str], str]
) -> None:
    first, second = decided("gear-stuck"), decided("clean")
    page.goto(f"{service.address}{first}")
    page.get_by_role("link", name="beside another").click()
    page.get_by_label("Second decision, its id").fill(second.rsplit("/", 1)[1])
    page.keyboard.press("Enter")
    action = page.get_by_role("row", name=re.compile("^Action"))
    expect(action).to_contain_text("differs")
    expect(action.get_by_role("cell").first).to_have_text("DIVERT to XTOR")
    page.get_by_role("link", name="the other way round").click()
    expect(action.get_by_role("cell").last).to_have_text("DIVERT to XTOR")
    for width_px, style in ((390, "dim"), (1280, "light")):
        shown_as(page, width_px=width_px, style=style)
        assert axe(page) == [], (width_px, style)
    page.get_by_role("link", name="as of").last.click()
    expect(page).to_have_url(f"{service.address}{first}")
