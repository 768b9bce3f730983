"""The page of a decision: the order of its first screen, and that it says what the answer says."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest

from decision.brief import brief
from decision.brief.first import questions_answered
from decision.brief.layout import clock_down
from service.app import create_app
from service.page import decision_page
from service.recent import SINCE_THEN
from tests.page.pages import NAMES, page_of, read, whole
from tests.service.builders import old_file, service_settings

OLDER = sorted((Path(__file__).parents[1] / "brief" / "older").glob("*.json"))


@pytest.mark.parametrize("name", NAMES)
def test_the_page_leads_with_the_action_its_place_and_its_runway(name: str) -> None:
    page, action = page_of(name), whole(name)["action"]
    assert page.action.endswith(action["aerodrome"])
    assert page.runway.startswith(
        "runway not known" if action["runway"] is None else f"runway {action['runway']}"
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_line_of_the_brief_stands_on_the_first_screen(name: str) -> None:
    page, told = page_of(name), " ".join(text for _, text in page_of(name).facts)
    drawn_otherwise = {"TOUCHDOWN", "ACTION", "LEAVE BY", "HOLD"}
    if page.frame.ask:
        assert all(each["what"] in page.frame.ask for each in whole(name)["ask"])
        drawn_otherwise.add("ASK")
    lines = [each for each in questions_answered(read(name)) if each.label]
    assert lines
    for line in lines:
        if line.label not in drawn_otherwise:
            assert line.whole.rstrip(".") in (page.because if line.label == "BECAUSE" else told), (
                line.label
            )


@pytest.mark.parametrize("name", [each for each in NAMES if whole(each)["deadline"]])
def test_a_deadline_is_a_clock_time_with_miles_and_fuel(name: str) -> None:
    answer, page = whole(name), page_of(name)
    values = [cell.value for cell in page.frame.cells]
    if answer["action"]["do"] == "DIVERT":
        assert clock_down(answer["deadline"]["at"]) in values
    assert "; ".join(answer["until_then"]) in page.frame.not_yet


def test_an_answer_that_ran_out_says_so_and_for_how_long() -> None:
    assert page_of("gear-stuck").ran_out_min is None
    assert (page_of("gear-stuck").left_min, page_of("gear-stuck").shown_at) == (7, "06:11Z")
    assert page_of("gear-stuck", 10).left_min is None
    assert page_of("gear-stuck", 10).ran_out_min == 2  # begun


@pytest.mark.parametrize("name", NAMES)
def test_every_course_stands_in_the_table_once_and_the_chosen_one_is_marked(name: str) -> None:
    rows = [row for _, group in page_of(name).groups for row in group]
    answer = whole(name)
    assert len(rows) == len(answer["courses"])
    chosen = [row.rank for row in rows if row.chosen]
    named = [each for each in answer["courses"] if each["course"] == answer["action"]["course"]]
    assert chosen == [each["rank"] for each in named]


def test_what_other_rulebooks_say_stands_in_a_table() -> None:
    answer = whole("gear-stuck")
    told = {"rulebook": "easa", "verdict": "NO_GO", "do": "DIVERT", "basis": "B", "headline": "H"}
    page = decision_page(
        {**answer, "rulebooks_compared": [told]}, now=datetime.fromisoformat(answer["as_of"])
    )
    assert page.rulebooks is not None
    assert page.rulebooks.rows == (("easa", "NO_GO", "DIVERT", "B", "H"),)
    assert page_of("gear-stuck").rulebooks is None


def test_a_flip_point_has_its_unit_and_a_code_has_none() -> None:
    flips = page_of("gear-stuck").flips
    assert flips is not None
    assert ("fuel on board", "3450 kg", "3500 kg", "GO_WITH_CAUTION") in flips.rows
    assert not any("None" in cell for row in flips.rows for cell in row)


def test_what_is_not_known_is_asked_for_before_anything_else() -> None:
    frame = page_of("alternate-report-unreadable").frame
    assert frame.heading == "Hold until it is known"
    assert frame.ask == (
        "the latest report and forecast of XTOR, runway condition of XTOR"
        " (of air traffic control or dispatch, by 06:41Z)"
    )
    assert page_of("gear-stuck").frame.ask == ""


def test_distress_is_declared_in_the_frame_of_the_first_screen() -> None:
    frame = page_of("time-critical").frame
    assert frame.distress
    assert frame.declare.startswith("Declare DISTRESS: MAYDAY MAYDAY MAYDAY, VENTO 318")
    assert page_of("gear-stuck").frame.declare == ""


def test_who_leaves_at_once_is_told_what_not_to_do_without_a_then() -> None:
    frame = page_of("nothing-legal").frame
    assert (frame.heading, frame.cells[0].value) == ("Leave", "NOW")
    assert frame.not_yet == "Do not extend the gear."
    assert page_of("gear-stuck").frame.not_yet == "Until then: do not extend the gear."


def test_a_hold_without_an_approach_after_it_does_not_say_when_it_lands() -> None:
    assert "Without the hold: lands 06:21Z" in page_of("alternate-report-unreadable").runway
    assert "After a miss" in page_of("wait-for-fog").runway


@pytest.mark.parametrize(
    ("name", "figure"),
    [
        ("gear-stuck", "fuel"),
        ("later-into-fog", "windows"),
        ("island-in-fog", "windows"),
        ("slush-and-crosswind", "runway"),
        ("time-critical", "touchdown"),
    ],
)
def test_the_first_figure_is_that_in_which_the_reason_can_be_seen(name: str, figure: str) -> None:
    first = page_of(name).first
    assert first is not None
    assert first.name == figure


def test_the_page_of_an_answer_stored_by_an_older_engine_shows_what_it_has(tmp_path: Path) -> None:
    old_file(tmp_path)
    client = create_app(service_settings(tmp_path)).test_client()
    for flight in ("VENTO 318", "GANNET 9"):
        entry = client.get(f"/v1/flights/{flight}/decisions").get_json()["decisions"][0]
        shown = client.get(f"/v1/decisions/{entry['id']}", headers={"Accept": "text/html"})
        assert shown.status_code == 200
        assert entry["action"]["aerodrome"] in shown.text
        assert "Ran out" in shown.text


@pytest.mark.parametrize("path", OLDER, ids=lambda path: path.stem)
@pytest.mark.parametrize("lacks", [(), *((each,) for each in SINCE_THEN), SINCE_THEN])
def test_what_an_older_answer_lacks_is_not_told_as_good(path: Path, lacks: tuple[str, ...]) -> None:
    read = json.loads(path.read_text(encoding="utf-8"))
    read["capability"] = {"lost": []}  # left out of the file, but not of the answers
    answer = {name: value for name, value in read.items() if name not in lacks}
    as_of = datetime.fromisoformat(answer["as_of"])
    page, facts = decision_page(answer, now=as_of), dict(decision_page(answer, now=as_of).facts)
    assert page.action.endswith(answer["action"]["aerodrome"])
    if "valid_until" in lacks:
        assert (page.valid_until, page.until, page.ran_out_min) == ("not told", answer["as_of"], 0)
        assert "is not told" in facts["Next look"]
        assert "is not told" in brief(answer).partition("VALID UNTIL")[2].splitlines()[0]
    else:
        assert page.valid_until == clock_down(read["valid_until"]["at"])
        assert page.ran_out_min is None
    if "emergency" in lacks:
        assert "whether to declare is not told" in facts["Fuel state"]
        assert not page.frame.declare
