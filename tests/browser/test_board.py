"""The board, the history and the time on pages, in a browser, with a service of the present."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from decision.windows import instant_text
from service.keytext import new_key
from service.page.minutes import left_min, passed_min, span
from tests.browser.browsing import (
    HEIGHT_PX,
    WIDTHS_PX,
    Happened,
    axe,
    nothing_wrong,
    shown_as,
)
from tests.counts import takes_long
from tests.faults.running import Running, behind_its_door, children_of, running
from tests.watch.running import fog, present

HELD_S: Final = timedelta(minutes=3, seconds=26)  # how long the answer of `escape-thin` holds
SOON_MS: Final = 30_000  # a look of a watch, on a machine that has other things to do
NEVER_S: Final = "3600"
OF_THE_BOARD: Final = [(px, style) for px in WIDTHS_PX for style in ("light", "dim")]
OF_OTHERS: Final = [(390, "dim"), (1280, "light")]
ENDS_WITH_ITS_PAGE: Final = r"failed: GET \S+/(v1/events|board)"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A service of the present moment that watches decisions."""
    with running(tmp_path_factory.mktemp("desk"), APPROACH_MOST_WATCHES="20") as found:
        yield found


@pytest.fixture
def seen(context: BrowserContext, desk: Running) -> Iterator[Happened]:
    """Fails the test for what goes wrong; a stream that ends with its page is as it must be."""
    with nothing_wrong(context, desk.address) as found:
        found.expect(ENDS_WITH_ITS_PAGE)
        yield found


@pytest.fixture
def page(context: BrowserContext, seen: Happened) -> Page:
    """An empty page that is watched."""
    assert seen.lines == []
    return context.new_page()


def decide(desk: Running, name: str, flight: str, *, ago: timedelta = timedelta(0)) -> Any:
    """A recorded decision on a demo case, as of then."""
    at = datetime.now(UTC).replace(microsecond=0) - ago
    answer = desk.ask("/v1/decisions", present(name, at=at, flight_id=flight))
    assert answer.status == 201, answer.content
    return answer.json()


def watch(desk: Running, decision: Any) -> None:
    until = datetime.now(UTC).replace(microsecond=0) + timedelta(hours=1)
    asked = {"decision_id": decision["id"], "until": instant_text(until)}
    assert desk.ask("/v1/watches", asked).status == 201


def opened(page: Page, desk: Running, path: str = "/board") -> None:
    """The page, kept up to date by its script, and asking for nothing unless news come."""
    page.goto(f"{desk.address}{path}")
    expect(page.locator("#news")).to_contain_text("last news")
    page.evaluate(f"document.getElementById('board').dataset.lookEachS = '{NEVER_S}'")


def order(page: Page, *flights: str) -> list[str]:
    """Those of some flights, as they stand on the list."""
    found = page.locator("#rows tbody tr").evaluate_all(
        "rows => rows.map(row => row.dataset.flight)"
    )
    return [each for each in found if each in flights]


def row(page: Page, flight: str) -> Any:
    return page.locator(f'tr[data-flight="{flight}"]')


@contextmanager
def stopped(desk: Running) -> Iterator[None]:
    """Every process of the service stopped as by its operating system."""
    processes = [desk.process.pid]
    for each in processes:
        os.kill(each, signal.SIGSTOP)
        processes += children_of(each)
    try:
        yield
    finally:
        for each in reversed(processes):
            os.kill(each, signal.SIGCONT)


def test_news_of_a_watch_stand_at_once_and_rows_move_when_nobody_is_on_the_list(
    page: Page, desk: Running
) -> None:
    flights = ("FOG 1", "NEAR 2", "LATE 3")
    watch(desk, decide(desk, "clean", "FOG 1"))
    decide(desk, "gear-stuck", "NEAR 2")
    opened(page, desk)
    assert order(page, *flights) == ["NEAR 2", "FOG 1"]
    expect(row(page, "FOG 1").locator(".verdict.live")).to_have_text("GO")
    row(page, "NEAR 2").locator(".room").hover()

    decide(desk, "nothing-legal", "LATE 3")
    assert desk.ask("/v1/reports", {"reports": [fog()]}).status == 202
    expect(row(page, "FOG 1").locator(".verdict.live")).to_have_text("NO_GO", timeout=SOON_MS)
    told = page.locator("#heard")
    expect(told).to_contain_text("FOG 1 moved: was GO: APPROACH XKAL, runway 27R, is NO_GO")
    expect(told).to_contain_text("LATE 3 is new: NO_GO: DIVERT to XTOR, runway 32")
    expect(row(page, "FOG 1").locator(".moved")).to_contain_text("was GO, APPROACH XKAL")
    assert order(page, *flights) == ["NEAR 2", "FOG 1", "LATE 3"]
    expect(page.locator("#waiting")).to_contain_text("another place by now")

    page.mouse.move(1, 1)
    expect(page.locator("#waiting")).to_be_hidden()
    assert order(page, *flights)[0] == "LATE 3"
    expect(row(page, "LATE 3").locator(".count")).to_have_text("NOW")
    assert re.match(r"\d+ NOW, (\d+ ran out, )?Board", page.title())


@takes_long
def test_rows_stay_while_the_keyboard_is_on_the_list_and_focus_is_not_lost(
    page: Page, desk: Running
) -> None:
    decide(desk, "clean", "KEY 1")
    opened(page, desk)
    link = row(page, "KEY 1").locator(".order a").first
    link.focus()
    before = link.get_attribute("href")
    second = decide(desk, "nothing-legal", "KEY 1")
    page.evaluate("document.getElementById('board').dataset.lookEachS = '0'")
    expect(row(page, "KEY 1").locator(".order a").first).to_have_attribute(
        "href", f"/v1/decisions/{second['id']}"
    )
    assert before != f"/v1/decisions/{second['id']}"
    assert page.evaluate("document.activeElement.getAttribute('href')") == (
        f"/v1/decisions/{second['id']}"
    )


@takes_long
def test_a_silent_service_is_told_and_answers_still_run_out_at_their_time(
    page: Page, desk: Running
) -> None:
    decide(desk, "escape-thin", "SOON 4", ago=HELD_S - timedelta(seconds=12))
    opened(page, desk)
    expect(row(page, "SOON 4")).not_to_have_class(re.compile("old"))
    with stopped(desk):
        page.evaluate("document.getElementById('board').dataset.silentAfterS = '2'")
        banner = page.locator("#silence")
        expect(banner).to_contain_text(re.compile(r"No news for \d+ s, since \d\d:\d\dZ"))
        expect(row(page, "SOON 4")).to_have_class(re.compile("old"), timeout=SOON_MS)
        expect(row(page, "SOON 4").locator(".order.gone")).to_have_text("ASK AGAIN now")
        expect(row(page, "SOON 4").locator(".order.live")).to_be_hidden()
        expect(row(page, "SOON 4")).to_contain_text("Old answer, not to be used: was APPROACH")
    page.evaluate("document.getElementById('board').dataset.lookEachS = '1'")
    page.evaluate("document.getElementById('board').dataset.silentAfterS = '30'")
    expect(page.locator("#silence")).to_be_hidden(timeout=SOON_MS)


def test_a_decision_turns_old_before_the_eyes_of_its_reader(page: Page, desk: Running) -> None:
    decision = decide(desk, "escape-thin", "SOON 5", ago=HELD_S - timedelta(seconds=8))
    page.goto(f"{desk.address}/v1/decisions/{decision['id']}")
    expect(page.locator("#left")).to_have_text("0 min left")
    expect(page.locator("#kept-left")).to_have_text("0 min left")
    assert page.title() == "APPROACH XKAL - SOON 5"
    expect(page.locator("main")).to_have_class("old", timeout=SOON_MS)
    expect(page.locator("#ran-out")).to_have_text(
        "Ran out 1 min ago: ask again. The action is old."
    )
    expect(page.locator("#told-once")).to_contain_text("Its action is old: ask again.")
    expect(page.locator(".called-old")).to_be_visible()
    assert page.title() == "OLD: APPROACH XKAL - SOON 5"
    line = "getComputedStyle(document.getElementById('action')).textDecorationLine"
    assert page.evaluate(line) == "line-through"
    assert page.evaluate("getComputedStyle(document.querySelector('.frame')).borderStyle") == (
        "dashed"
    )
    page.locator("footer").scroll_into_view_if_needed()
    expect(page.locator(".kept .is-old")).to_be_in_viewport()
    expect(page.locator("#kept-left")).to_be_hidden()


@takes_long
def test_a_decision_is_asked_again_and_kept_under_watch_from_its_page(
    page: Page, desk: Running
) -> None:
    first = decide(desk, "clean", "AGAIN 6")
    page.goto(f"{desk.address}/v1/decisions/{first['id']}")
    page.get_by_role("button", name="Keep under watch for 1 h").click()
    expect(page.locator("#deed")).to_contain_text("Under watch until")
    page.get_by_role("button", name="Ask again now").click()
    page.wait_for_url(lambda url: "/v1/decisions/" in url and first["id"] not in url)
    page.get_by_role("link", name="history").click()
    expect(page.locator(f"section.past a[href='/v1/decisions/{first['id']}']")).to_have_count(1)
    expect(page.locator("main")).to_contain_text("Under watch until")
    page.get_by_role("link", name="beside the one before it").first.wait_for()
    page.get_by_role("link", name="Board", exact=True).click()
    expect(row(page, "AGAIN 6")).to_contain_text("under watch until")


@takes_long
def test_the_time_is_the_services_and_a_machine_that_slept_asks_for_it(
    page: Page, desk: Running
) -> None:
    decide(desk, "clean", "SLEEP 7")
    page.add_init_script(
        "{ const own = Date.now; let off = 0; Date.now = () => own() + off - 9e9;"
        " window.sleep = () => { off = 6e5; }; }"
    )
    opened(page, desk)
    shown = page.locator("#clock").inner_text()
    now = datetime.now(UTC)
    assert shown in {f"{now:%H:%MZ}", f"{now - timedelta(seconds=30):%H:%MZ}"}
    with page.expect_request(lambda request: request.url.endswith("/board")):
        page.evaluate("window.sleep()")


@takes_long
def test_without_a_script_pages_say_for_when_they_are(browser: Browser, desk: Running) -> None:
    decision = decide(desk, "clean", "PLAIN 8")
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{desk.address}/board")
    expect(page.locator("#news")).to_have_text("when this page was made; make it anew")
    expect(row(page, "PLAIN 8")).to_contain_text("APPROACH XKAL, runway 27R")
    page.goto(f"{desk.address}/v1/decisions/{decision['id']}")
    expect(page.locator("#left")).to_have_text(re.compile(r"^\d+ min left at \d\d:\d\dZ$"))
    expect(page.get_by_role("button")).to_have_count(0)
    context.close()


MINUTES: Final = (-600_000, -61_000, -60_000, -1, 0, 1, 59_999, 60_000, 10_799_999, 10_800_000)
LONG: Final = (172_799_999, 172_800_000, 9e8)


@takes_long
def test_the_page_counts_minutes_as_the_service_does(page: Page, desk: Running) -> None:
    opened(page, desk)
    told = page.evaluate(
        """async (moments) => {
          const { leftMin, passedMin, span } = await import("/assets/clock.js");
          return moments.map((at) => [leftMin(at, 0), passedMin(0, at), span(leftMin(at, 0))]);
        }""",
        [*MINUTES, *LONG],
    )
    zero = datetime(1970, 1, 1, tzinfo=UTC)
    moments = [zero + timedelta(milliseconds=each) for each in (*MINUTES, *LONG)]
    assert told == [
        [left_min(each, zero), passed_min(zero, each), [*span(left_min(each, zero))]]
        for each in moments
    ]


@takes_long
def test_a_stream_reads_the_same_wherever_it_is_cut(page: Page, desk: Running) -> None:
    opened(page, desk)
    stream = (
        "retry: 1\nid: 4\n\n: heartbeat\nid: 5\n\nid: 6\nevent: changed\ndata: a: b\ndata:c\n\n"
    )
    told = page.evaluate(
        """async (stream) => {
          const { Blocks } = await import("/assets/stream.js");
          return [...stream, ""].map((_, cut) => {
            const blocks = new Blocks();
            const found = [...blocks.push(stream.slice(0, cut)), ...blocks.push(stream.slice(cut))];
            return [blocks.lastId, found];
          });
        }""",
        stream,
    )
    assert told == [["6", [{"kind": "changed", "data": "a: b\nc"}]]] * (len(stream) + 1)


def test_axe_finds_nothing_serious_on_board_and_history(page: Page, desk: Running) -> None:
    for name in ("nothing-legal", "gear-stuck", "wait-for-fog", "alternate-weather-missing"):
        decide(desk, name, f"AXE {name[:3]}")
    old = decide(desk, "escape-thin", "AXE 9", ago=timedelta(minutes=10))
    decide(desk, "engine-out-nearer-place", "AXE 10")
    decide(desk, "clean", "AXE 11", ago=timedelta(hours=5))
    shown = {
        "/board": OF_THE_BOARD,
        "/v1/flights/AXE%209/decisions": OF_OTHERS,
        f"/v1/decisions/{old['id']}": OF_OTHERS,
        "/sign-in": OF_OTHERS,
    }
    for path, ways in shown.items():
        page.goto(f"{desk.address}{path}")
        for width_px, style in ways:
            shown_as(page, width_px=width_px, style=style)
            assert axe(page) == [], (path, width_px, style)
            root = "document.documentElement"
            assert page.evaluate(f"{root}.scrollWidth - {root}.clientWidth") == 0, (path, width_px)


def test_who_has_no_session_signs_in_and_comes_back_to_the_board(
    browser: Browser, tmp_path: Path
) -> None:
    key = new_key(os.urandom)
    with running(tmp_path, **behind_its_door(key)) as service:
        context = browser.new_context(viewport={"width": 1280, "height": HEIGHT_PX})
        with nothing_wrong(context, service.address) as seen:
            seen.expect(ENDS_WITH_ITS_PAGE)
            seen.expect(r"401")
            page = context.new_page()
            page.goto(f"{service.address}/board?show=watched")
            expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
            page.get_by_label("Key").fill(key.text)
            page.get_by_role("button", name="Sign in").click()
            page.wait_for_url(f"{service.address}/board?show=watched")
            expect(page.locator("#news")).to_contain_text("last news")
            context.clear_cookies()
            page.evaluate("document.getElementById('board').dataset.lookEachS = '0'")
            page.get_by_role("link", name="sign in").click()
            expect(page.get_by_label("Key")).to_be_visible()
            assert page.url == f"{service.address}/board?show=watched"
        context.close()
