"""The sliders of a recorded decision: verdict, action and where it turns, by the API, at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.browsing import STYLES, WIDTHS_PX, axe, shown_as
from tests.counts import IS_LONG, long_tier, takes_long
from tests.faults.running import Running

FUEL = "fuel_on_board_kg"
SHOWN = "#what-if .what-if:not([hidden])"


def opened(page: Page, service: Running, path: str) -> Page:
    """The page with its sliders filled in."""
    page.goto(f"{service.address}{path}")
    page.locator("#what-if").scroll_into_view_if_needed()
    page.locator(SHOWN).wait_for()
    page.locator(f"#try-{FUEL}:enabled").wait_for()
    return page


def move_to(page: Page, name: str, value: float) -> None:
    """Set a slider to the value nearest to one, as a hand does."""
    page.evaluate(
        """([id, text]) => {
            const range = document.getElementById(id);
            const told = () => Number.parseFloat(range.getAttribute('aria-valuetext'));
            let [low, high] = [0, Number(range.max)];
            while (low < high) {
                const middle = Math.ceil((low + high) / 2);
                range.value = `${middle}`;
                range.dispatchEvent(new Event('input'));
                if (told() <= text) low = middle; else high = middle - 1;
            }
            range.value = `${low}`;
            range.dispatchEvent(new Event('input'));
        }""",
        [f"try-{name}", value],
    )


def flips(service: Running, path: str) -> dict[str, Any]:
    return {each["input"]: each for each in service.ask(path).json()["flip_points"]}


@takes_long
def test_sliders_stand_at_the_values_of_the_case_and_tell_where_each_turns_it(
    page: Page, service: Running, decided: Callable[[str], str]
) -> None:
    path = decided("gear-stuck")
    opened(page, service, path)
    found = flips(service, path)
    assert found
    assert page.locator(".slider").count() > 1
    for name, flip in found.items():
        slider = page.locator(f'.slider[data-input="{name}"]')
        if slider.count() == 0:
            continue
        turns = slider.locator(".turns")
        if flip["present"] is None:
            expect(turns).to_contain_text("not known")
            continue
        shown = page.locator(f"#try-{name}").get_attribute("aria-valuetext")
        assert shown is not None
        assert float(shown.split()[0]) == flip["present"]
        if flip["flips_at"] is None:
            expect(turns).to_contain_text("nowhere")
        else:
            expect(turns).to_contain_text(f"to {flip['to_verdict']} at {flip['flips_at']:g}")


def test_a_slider_moved_across_its_mark_turns_the_verdict_and_back_again(
    page: Page, service: Running, decided: Callable[[str], str]
) -> None:
    path = decided("gear-stuck")
    answer = service.ask(path).json()
    flip = flips(service, path)[FUEL]
    assert flip["flips_at"] is not None
    opened(page, service, path)
    said = page.locator("#what-if .said")
    expect(said).to_contain_text(f"As in the case: {answer['action']['do']} to XTOR")
    then = "#what-if tbody tr td:nth-of-type(2)"  # as the table of courses has them
    rooms = page.locator("#courses td:nth-of-type(4) b").all_inner_texts()
    assert sorted(page.locator(then).all_inner_texts()) == sorted(rooms) != []
    move_to(page, FUEL, flip["flips_at"])
    expect(said).to_contain_text("Then: APPROACH XKAL")
    beside = page.locator("#what-if .beside")
    expect(beside).to_contain_text(f"{flip['to_verdict']} (was {answer['verdict']})")
    page.get_by_role("button", name="As in the case").click()
    expect(said).to_contain_text("As in the case: DIVERT to XTOR")
    expect(beside).not_to_contain_text("was")


@takes_long
def test_a_slider_is_moved_by_the_keyboard_alone(
    page: Page, service: Running, decided: Callable[[str], str]
) -> None:
    opened(page, service, decided("gear-stuck"))
    fuel = page.locator(f"#try-{FUEL}")
    before = fuel.get_attribute("aria-valuetext")
    fuel.focus()
    page.keyboard.press("ArrowRight")
    assert before is not None
    expect(fuel).to_have_attribute("aria-valuetext", f"{float(before.split()[0]) + 10:g} kg")
    expect(page.locator("#what-if .said")).to_contain_text("Still")


@takes_long
def test_another_slider_moves_the_marks_of_the_first(
    page: Page, service: Running, decided: Callable[[str], str]
) -> None:
    path = decided("gear-stuck")
    opened(page, service, path)
    mark = page.locator(f'.slider[data-input="{FUEL}"] .turns')
    before = mark.inner_text()
    move_to(page, "diversion_headwind_kt", 40)
    expect(mark).not_to_have_text(before)
    identity = path.rsplit("/", 1)[1]
    body = {"inputs": [{"diversion_headwind_kt": 40}], "turns_of": [FUEL]}
    told = service.ask(f"/v1/decisions/{identity}/what-if", body).json()
    [turn] = told["tried"][0]["turns"]
    expect(mark).to_contain_text(f"at {turn['flips_at']:g} kg")


SHOWN_AS = [(width_px, style) for width_px in WIDTHS_PX for style in STYLES if style != "print"]
SOME = SHOWN_AS if IS_LONG else [SHOWN_AS[1], SHOWN_AS[-2]]  # narrow and dim, wide and light


@pytest.mark.parametrize(
    "name", ["gear-stuck", pytest.param("alternate-weather-missing", marks=long_tier)]
)
def test_axe_finds_nothing_serious_with_sliders_moved(
    page: Page, service: Running, decided: Callable[[str], str], name: str
) -> None:
    opened(page, service, decided(name))
    move_to(page, FUEL, 0)
    expect(page.locator("#what-if .said")).not_to_contain_text("As in the case")
    for width_px, style in SOME:
        shown_as(page, width_px=width_px, style=style)
        assert axe(page) == [], (width_px, style)
