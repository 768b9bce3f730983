"""A person with no JSON: the form filled in, corrected and decided in a browser."""

from __future__ import annotations

import json
import re
from datetime import datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import Any

import pytest
from playwright.sync_api import Dialog, Locator, Page, expect

from tests.browser.browsing import WIDTHS_PX, Happened, axe, shown_as
from tests.counts import takes_long
from tests.faults.running import Running
from tests.page.pages import DEMOS

STUCK = "gear-stuck"
MASS, FUEL = "#c-aircraft-mass_kg", "#c-fuel-on_board_kg"
REFUSED = r"422|ERR_ABORTED"
"""What a browser says where the service finds a case wrong, or a page is left while it is asked."""
SAME_AGAIN = """async (cases) => {
    const { collect, fill, keptIn } = await import("/assets/case.js");
    const form = document.getElementById("case");
    return cases.map((each) => {
        fill(form, each);
        return [collect(form), keptIn(form).map(({ pointer }) => pointer)];
    });
}"""


def opened(page: Page, service: Running, query: str = "") -> None:
    page.goto(f"{service.address}/{query}")
    expect(page.locator("#case")).to_be_visible()


def loaded(page: Page, service: Running, name: str = STUCK) -> None:
    opened(page, service, f"?demo={name}")
    expect(page.locator("#c-flight_id")).to_have_value(DEMOS[name].request()["flight_id"])


def field(page: Page, path: str) -> Locator:
    """The control of a member that stands in no list."""
    return page.locator(f"#c-{path}".replace("/", "-"))


def decided(page: Page, service: Running) -> Any:
    """Decide, and the answer of the decision whose page is then shown."""
    page.get_by_role("button", name="Decide", exact=True).click()
    page.wait_for_url("**/v1/decisions/*")
    return service.ask(page.url.removeprefix(service.address)).json()


def plain(value: Any) -> Any:
    """A case without what says nothing, and without an order that has no meaning."""
    if isinstance(value, dict):
        return {name: plain(each) for name, each in value.items() if each is not None}
    if isinstance(value, list) and value and all(isinstance(each, str) for each in value):
        return sorted(value)
    return [plain(each) for each in value] if isinstance(value, list) else value


def test_a_demo_is_loaded_and_decided(page: Page, service: Running) -> None:
    opened(page, service)
    page.get_by_label("start from a demo").select_option(label=DEMOS[STUCK].title)
    expect(field(page, "aircraft/mass_kg")).to_have_value("60300")
    expect(page.locator("#summary")).to_contain_text("Taken by default")
    answer = decided(page, service)
    assert answer["verdict"] == "NO_GO"
    expect(page.locator("h1")).to_have_text("DIVERT to XTOR")


@takes_long
def test_what_was_typed_is_lost_only_if_its_person_says_so(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect("ERR_ABORTED")
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.on("dialog", stay)
    loaded(page, service)
    empty = page.get_by_role("button", name="Empty form")
    empty.click()
    expect(field(page, "aircraft/mass_kg")).to_have_value("")
    assert asked == [], "of a demo nothing is lost"
    page.get_by_label("start from a demo").select_option(label=DEMOS[STUCK].title)
    expect(field(page, "aircraft/mass_kg")).to_have_value("60300")
    page.locator(FUEL).fill("3440")
    empty.click()
    page.get_by_role("link", name="Board", exact=True).click()
    expect(page.locator(FUEL)).to_have_value("3440")
    assert asked == ["confirm", "beforeunload"]
    assert decided(page, service)["fuel_on_board_kg"] == 3440
    assert asked == ["confirm", "beforeunload"], "what is decided is not lost"


@takes_long
def test_every_demo_is_sent_back_as_it_was_loaded(page: Page, service: Running) -> None:
    opened(page, service)
    cases = {name: demo.request() for name, demo in DEMOS.items()}
    found = page.evaluate(SAME_AGAIN, list(cases.values()))
    assert len(found) == len(cases) > 20
    for name, (sent, kept) in zip(cases, found, strict=True):
        assert plain(sent) == plain(cases[name]), name
        assert kept == [], name


@takes_long
def test_what_has_no_field_is_told_kept_and_sent_back(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect("ERR_ABORTED")
    posted = service.ask("/v1/decisions", DEMOS[STUCK].request()).json()["id"]
    again = service.ask(
        f"/v1/decisions/{posted}/again", {"patch": {"fuel": {"on_board_kg": 3440}}}
    ).json()["id"]
    before = service.ask(f"/v1/decisions/{again}/request").json()
    opened(page, service, f"?from={again}")
    expect(page.locator("#kept")).to_contain_text("Kept as it is, without a field: 1 part")
    expect(page.locator("#kept")).to_contain_text("/carried")
    identity = decided(page, service)["id"]
    sent = service.ask(f"/v1/decisions/{identity}/request").json()
    assert plain(sent) == plain(before)
    assert sent["carried"]["values"]


def test_a_bad_value_shows_the_words_of_the_service_and_decide_goes_to_it(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect(REFUSED)
    loaded(page, service)
    fuel = field(page, "fuel/on_board_kg")
    fuel.fill("34500x")
    body = DEMOS[STUCK].request()
    body["fuel"]["on_board_kg"] = "34500x"
    [told] = service.ask("/v1/decisions", body).json()["errors"]
    field(page, "flight_id").focus()
    fault = page.locator("#c-fuel-on_board_kg-fault")
    expect(fault).to_have_text(
        f"▲ fuel on board, kg: {told['message']}; accepted: {told['accepted']}"
    )
    expect(fuel).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#summary")).to_contain_text("1 field must be corrected: fuel on board")
    page.get_by_role("button", name="Decide", exact=True).click()
    expect(fuel).to_be_focused()
    fuel.fill("3450")
    expect(fault).to_be_hidden()
    assert decided(page, service)["verdict"] == "NO_GO"


@takes_long
def test_a_fault_in_an_item_of_a_list_is_told_there(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect(REFUSED)
    loaded(page, service)
    second = page.locator('[data-list="alternates"] > .items > [data-item]').nth(1)
    second.get_by_label("track, NM", exact=True).fill("-5")
    page.get_by_role("button", name="Decide", exact=True).click()
    expect(second.get_by_label("track, NM", exact=True)).to_be_focused()
    expect(second.locator(".fault:visible")).to_contain_text("accepted: a number from 0 to 3000 NM")
    expect(page.locator("#summary")).to_contain_text("track of alternate 2")


@takes_long
def test_one_cause_is_told_once_under_its_field(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect(REFUSED)
    loaded(page, service)
    too_long = "A" * 2001
    field(page, "weather/reports").fill(f"{too_long}\n\n{too_long}")
    body = DEMOS[STUCK].request()
    body["weather"]["reports"] = [too_long, too_long]
    told = service.ask("/v1/decisions", body).json()["errors"]
    assert [each["pointer"] for each in told] == ["/weather/reports/0", "/weather/reports/1"]
    field(page, "flight_id").focus()
    expect(page.locator("#c-weather-reports-fault span")).to_have_count(1)
    expect(page.locator("#summary")).to_contain_text("1 field must be corrected: reports")


@takes_long
def test_now_is_taken_from_the_service_and_not_from_the_browser(
    page: Page, service: Running
) -> None:
    page.clock.install(time="2001-01-01T00:00:00Z")
    loaded(page, service)
    page.get_by_role("button", name="As of now, by the service's clock").click()
    at = parsedate_to_datetime(service.ask("/healthz").headers["Date"])
    shown = field(page, "as_of")
    expect(shown).not_to_have_value("2026-03-14 06:10")
    taken = datetime.fromisoformat(f"{shown.input_value()}+00:00")
    assert timedelta(0) <= at - taken < timedelta(minutes=2)


def test_a_pasted_report_is_told_word_by_word_and_what_is_not_read_stands_out(
    page: Page, service: Running
) -> None:
    loaded(page, service)
    raw = "METAR XTOR 140600Z 29010KT 9999 BKN02O 07/04 Q1011"
    field(page, "weather/reports").fill(f"{raw}\nTAF XTOR 140500Z 1406/1506\n 29011KT 9999 BKN018")
    expect(page.locator("#decoded-count")).to_have_text("2 reports, 1 of them not read in full.")
    first = page.locator("#decoded .report").first
    expect(first).to_contain_text("XTOR seen 06:00Z, 10 min before")
    expect(first).to_contain_text("1 group not read, so cloud is not known")
    unread = first.locator(".not-read")
    expect(unread.locator("dt")).to_have_text("BKN02O")
    expect(unread.locator("dd")).to_have_text("✕ not read")
    assert unread.evaluate("(each) => getComputedStyle(each).borderStyle") == "dashed"
    groups = first.locator(".tokens > div")
    assert groups.locator("dt").all_inner_texts() == raw.split()[3:]
    expect(groups.first.locator("dd")).to_have_text("290°, 10 kt")


def test_a_failure_is_found_by_a_function_that_it_takes_and_added(
    page: Page, service: Running
) -> None:
    loaded(page, service)
    page.locator('[data-list="failures"]').get_by_role("button", name="Remove").click()
    page.get_by_label("search by part, system or what is lost").fill("nose-wheel steering")
    found = page.locator("#found li", has_text="Hydraulic supply 1 lost")
    expect(found).to_contain_text("takes nose-wheel steering")
    expect(found).to_contain_text("Cannot be undone: to extend the gear by the alternate system")
    found.get_by_role("button", name="Add: Hydraulic supply 1 lost").click()
    expect(page.locator("#found-count")).to_have_text("Added: Hydraulic supply 1 lost.")
    answer = decided(page, service)
    request = service.ask(f"/v1/decisions/{answer['id']}/request").json()
    assert request["failures"] == [{"id": "hydraulic-1"}]
    assert "nose-wheel-steering" in {each["function"] for each in answer["capability"]["lost"]}


@takes_long
def test_a_failure_that_needs_a_detent_asks_for_it(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect(REFUSED)
    loaded(page, service)
    page.get_by_label("search by part, system or what is lost").fill("flaps jammed")
    page.get_by_role("button", name="Add: Flaps jammed").click()
    item = page.locator('[data-list="failures"] [data-item]', has_text="Flaps jammed")
    expect(item.get_by_label("detent")).to_be_focused()
    expect(item.get_by_label("position")).to_be_hidden()
    page.get_by_role("button", name="Decide", exact=True).click()
    expect(item.locator(".fault:visible")).to_contain_text("needs the flap detent")


def test_nothing_typed_becomes_a_case_with_a_verdict(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect(REFUSED)
    opened(page, service)
    expect(page.locator("#summary")).to_contain_text("still to be given")
    page.get_by_role("button", name="Decide", exact=True).click()
    expect(field(page, "flight_id")).to_be_focused()
    expect(page.locator("#c-failures-fault")).to_contain_text("failures is required")
    for path, value in (
        ("flight_id", "VENTO 7"),
        ("as_of", "2026-03-14 06:10"),
        ("aircraft/profile", "xtj150"),
        ("aircraft/mass_kg", "58000"),
        ("aircraft/pressure_altitude_ft", "9000"),
        ("fuel/on_board_kg", "6000"),
        ("destination/icao", "XKAL"),
        ("destination/track_nm", "40"),
        ("weather/reports", "METAR XKAL 140600Z 26011KT 9999 SCT040 08/02 Q1013 NOSIG"),
    ):
        field(page, path).fill(value)
    page.get_by_label("nothing has failed").check()
    page.get_by_role("button", name="Add alternate").click()
    item = page.locator('[data-list="alternates"] [data-item]')
    item.get_by_label("aerodrome").fill("XTOR")
    item.get_by_label("track, NM", exact=True).fill("100")
    item.get_by_label("track from present, NM").fill("120")
    expect(page.locator("#summary")).to_contain_text("Not known, so never a plain GO")
    answer = decided(page, service)
    assert answer["flight_id"] == "VENTO 7"
    assert answer["verdict"] in ("GO_WITH_CAUTION", "INSUFFICIENT_DATA")
    request = service.ask(f"/v1/decisions/{answer['id']}/request").json()
    assert request["failures"] == []
    assert request["as_of"] == "2026-03-14T06:10:00Z"
    assert request["aircraft"]["mass_kg"] == 58000


@takes_long
def test_an_aerodrome_that_is_not_loaded_is_described_in_the_form(
    page: Page, service: Running, happened: Happened
) -> None:
    happened.expect(REFUSED)
    loaded(page, service)
    page.get_by_role("button", name="Add alternate").click()
    item = page.locator('[data-list="alternates"] > .items > [data-item]').nth(2)
    item.get_by_label("aerodrome").fill("XNEW")
    expect(item).to_contain_text("not loaded")
    item.locator(".more > summary").first.click()
    item.get_by_label("elevation, ft").first.fill("300")
    item.get_by_role("button", name="Add runway").click()
    runway = item.locator('[data-list="runways"] [data-item]')
    for label, value in (
        ("ident", "09"),
        ("true bearing, degrees true", "90"),
        ("landing distance available, m", "2800"),
        ("condition code", "5/5/3"),
    ):
        runway.get_by_label(label).fill(value)
    item.get_by_role("button", name="Add approach").click()
    approach = item.locator('[data-list="approaches"] > .items > [data-item]')
    for label, value in (("name *", "ILS 09"), ("runway *", "09"), ("needs", "ILS, GNSS")):
        approach.get_by_label(label, exact=True).fill(value)
    approach.get_by_label("kind").select_option("3D-B")
    answer = decided(page, service)
    request = service.ask(f"/v1/decisions/{answer['id']}/request").json()
    assert request["alternates"][2] == {
        "icao": "XNEW",
        "elevation_ft": 300,
        "runways": [
            {"ident": "09", "true_bearing_deg": 90, "lda_m": 2800, "condition_code": [5, 5, 3]}
        ],
        "approaches": [{"id": "ILS 09", "runway": "09", "kind": "3D-B", "needs": ["ILS", "GNSS"]}],
    }


def test_the_keyboard_alone_leads_from_a_demo_to_its_decision(page: Page, service: Running) -> None:
    opened(page, service)

    def on(locator: Locator, key: str = "Tab", most: int = 80) -> None:
        for _ in range(most):
            if locator.evaluate("(each) => each === document.activeElement"):
                return
            page.keyboard.press(key)
        raise AssertionError(f"{key} does not lead to {locator}")

    on(page.locator("#demo"))
    page.keyboard.type(DEMOS[STUCK].title[:20])
    page.keyboard.press("Enter")
    expect(field(page, "fuel/on_board_kg")).to_have_value("3450")
    on(page.locator("#search"))
    page.keyboard.type("anti-skid")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(page.locator('[data-list="failures"]')).to_contain_text("Anti-skid inoperative")
    on(page.locator("#decide"), most=150)
    page.keyboard.press("Enter")
    page.wait_for_url("**/v1/decisions/*")
    answer = service.ask(page.url.removeprefix(service.address)).json()
    request = service.ask(f"/v1/decisions/{answer['id']}/request").json()
    assert [each["id"] for each in request["failures"]] == ["gear-retraction", "anti-skid"]


@takes_long
def test_the_same_case_sent_twice_is_one_decision(page: Page, service: Running) -> None:
    loaded(page, service)
    keys: list[str] = []

    def cut(route: Any) -> None:
        keys.append(route.request.headers["idempotency-key"])
        route.continue_()

    page.route(re.compile(r"/v1/decisions$"), cut)
    page.evaluate("() => { const b = document.getElementById('decide'); b.click(); b.click(); }")
    page.wait_for_url("**/v1/decisions/*")
    assert len(keys) == 1
    assert re.fullmatch(r"[0-9a-f]{32}", keys[0])


@takes_long
def test_without_scripts_the_page_says_what_to_do(browser: Any, service: Running) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{service.address}/")
    expect(page.get_by_text("This form needs JavaScript.")).to_be_visible()
    expect(page.locator("#case")).to_be_hidden()
    page.get_by_role("link", name="how to call the service").click()
    expect(page.locator("h1")).to_be_visible()
    context.close()


@pytest.mark.parametrize("style", ["light", pytest.param("dim", marks=takes_long)])
def test_axe_finds_nothing_serious_in_a_form_with_everything_open(
    page: Page, service: Running, happened: Happened, style: str
) -> None:
    happened.expect(REFUSED)
    loaded(page, service, "slush-and-crosswind")
    page.evaluate(
        "() => { for (const each of document.querySelectorAll('details')) each.open = true; }"
    )
    page.get_by_label("search by part, system or what is lost").fill("gear")
    field(page, "fuel/on_board_kg").fill("x")
    field(page, "weather/reports").fill("METAR XTOR 140600Z 29010KT 9999 BKN02O 07/04 Q1011")
    expect(page.locator("#decoded .not-read")).to_be_visible()
    expect(page.locator("#c-fuel-on_board_kg-fault")).to_be_visible()
    for width_px in WIDTHS_PX:
        shown_as(page, width_px=width_px, style=style)
        assert axe(page) == [], (width_px, style)


@pytest.mark.parametrize("width_px", [360, 390, 1024, 2560])
@takes_long
def test_nothing_runs_over_the_edge_of_the_page(
    page: Page, service: Running, width_px: int
) -> None:
    loaded(page, service)
    page.evaluate(
        "() => { for (const each of document.querySelectorAll('details')) each.open = true; }"
    )
    page.get_by_label("search by part, system or what is lost").fill("gear")
    shown_as(page, width_px=width_px, style="light")
    assert page.evaluate("() => document.documentElement.scrollWidth") <= width_px


@takes_long
def test_the_case_of_the_page_is_json_that_can_be_posted(page: Page, service: Running) -> None:
    loaded(page, service)
    expect(page.locator("#summary")).to_contain_text("Taken by default")
    with page.expect_request(re.compile(r"record=false")) as asked:
        field(page, "aircraft/mass_kg").fill("60200")
    body = json.loads(asked.value.post_data or "")
    expected = DEMOS[STUCK].request()
    expected["aircraft"]["mass_kg"] = 60200
    assert plain(body) == plain(expected)
