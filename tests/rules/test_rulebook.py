"""The rulebooks as data: every row cited, marked and in range, and the rows that disagree."""

from __future__ import annotations

import re

import pytest

from decision.citations import Confidence, source
from decision.errors import DataError
from decision.rulebooks.rulebook import (
    MARKS,
    MOST,
    Force,
    RulebookRow,
    Unit,
    load_rulebook,
    read_rulebook,
    rulebook_ids,
)
from decision.weather.use import Reading

IDS = ("easa", "faa-121", "icao")
BOOKS = [load_rulebook(each) for each in IDS]
ALL_ROWS = [row for book in BOOKS for row in book.rows.values()]
ROW_IDS = [f"{book.id}-{name}" for book in BOOKS for name in book.rows]

HEAD = 'id = "own"\nversion = "1"\ntitle = "t"\n[rows]\n'
GOOD = (
    'value = 1.2, unit = "ratio", cite = "EU-AO", clause = "c", confidence = "found", '
    'force = "rule", text = "t"'
)


def own(cells: str, *, head: str = HEAD) -> bytes:
    return f"{head}row = {{ {cells} }}\n".encode()


def test_the_three_rulebooks_are_there() -> None:
    assert rulebook_ids() == IDS


@pytest.mark.parametrize("row", ALL_ROWS, ids=ROW_IDS)
def test_every_row_has_a_source_a_clause_a_confidence_and_a_sentence(row: RulebookRow) -> None:
    assert source(row.cite).title
    assert row.clause
    assert row.text.endswith(".")
    assert isinstance(row.confidence, Confidence)
    assert isinstance(row.force, Force)


@pytest.mark.parametrize("row", ALL_ROWS, ids=ROW_IDS)
def test_a_citation_shows_when_the_text_itself_was_not_read(row: RulebookRow) -> None:
    mark = re.search(r"\((from memory, verify|as quoted|derived|assumed)\)$", row.citation)
    assert (mark is None) == (row.confidence is Confidence.FOUND)
    assert row.citation == f"[{row.cite}] {row.clause}{MARKS[row.confidence]}"


@pytest.mark.parametrize("row", ALL_ROWS, ids=ROW_IDS)
def test_an_assumed_row_is_policy_or_a_stand_in_and_never_called_a_rule(row: RulebookRow) -> None:
    """What is only assumed is the operator's to set, or advice."""
    assert (row.confidence is Confidence.ASSUMED) <= (row.force is not Force.RULE)


def test_all_rulebooks_have_the_same_rows_in_the_same_units() -> None:
    first, *others = BOOKS
    assert others
    assert first.rows
    gradients = {Unit.PERCENT, Unit.FT_PER_NM}
    for book in others:
        assert list(book.rows) == list(first.rows)
        for name, row in book.rows.items():
            unit = first.row(name).unit
            assert row.unit is unit or {row.unit, unit} == gradients


def test_words_and_flags_always_have_a_value() -> None:
    assert ALL_ROWS
    for row in ALL_ROWS:
        assert (row.value is None) <= (row.unit in {*MOST, Unit.CLAUSE})


@pytest.mark.parametrize(
    ("book", "name", "value"),
    [
        ("icao", "ban_gate_height_ft", 1000.0),
        ("easa", "ban_gate_height_ft", 1000.0),
        ("faa-121", "ban_gate_height_ft", None),
        ("easa", "ban_midpoint_rvr_m", None),
        ("easa", "ban_stop_end_rvr_m", None),
        ("icao", "ban_midpoint_rvr_m", None),
        ("easa", "landing_arrival_factor", 1.15),
        ("icao", "landing_arrival_factor", 1.15),
        ("faa-121", "landing_arrival_factor", 1.15),
        ("easa", "dispatch_alternate_wet_factor", 1.15),
        ("faa-121", "dispatch_wet_factor", 1.15),
        ("faa-121", "dispatch_alternate_wet_factor", 1.0),
        ("icao", "final_reserve_min", 30.0),
        ("easa", "final_reserve_min", 30.0),
        ("faa-121", "dispatch_reserve_min", 45.0),
        ("easa", "alternate_planning_before_min", 60.0),
        ("easa", "alternate_planning_after_min", 60.0),
        ("faa-121", "alternate_planning_before_min", 0.0),
        ("icao", "alternate_in_flight_after_min", 15.0),
        ("easa", "oxygen_crew_always_above_ft", 13_000.0),
        ("faa-121", "oxygen_crew_always_above_ft", 12_000.0),
        ("icao", "visibility_conversion_from_rvr_m", 800.0),
        ("easa", "visibility_conversion_from_rvr_m", 550.0),
        ("easa", "oei_approach_climb_percent", 2.1),
        ("easa", "landing_climb_percent", 3.2),
        ("easa", "low_height_oei_gradient_percent", 2.5),
        ("faa-121", "terrain_drift_down_clearance_ft", 2000.0),
        ("faa-121", "dispatch_contaminated_factor", None),
        ("easa", "no_alternate_ceiling_ft", 2000.0),
        ("easa", "no_alternate_ceiling_above_circling_ft", 500.0),
        ("easa", "no_alternate_visibility_m", 5000.0),
        ("easa", "no_alternate_max_flight_h", 6.0),
        ("faa-121", "no_alternate_ceiling_ft", 2000.0),
        ("faa-121", "no_alternate_ceiling_above_circling_ft", None),
        ("faa-121", "no_alternate_visibility_m", 4828.0),
        ("faa-121", "no_alternate_max_flight_h", None),
        ("icao", "no_alternate_max_flight_h", None),
        ("icao", "isolated_reserve_min", 120.0),
        ("easa", "isolated_reserve_min", 120.0),
        ("faa-121", "isolated_reserve_min", 120.0),
        ("icao", "rescue_below_alternate", 2.0),
        ("icao", "rescue_below_destination", 1.0),
        ("icao", "rescue_floor_category", 4.0),
        ("icao", "rescue_floor_above_kg", 27_000.0),
        ("faa-121", "rescue_floor_category", None),
        ("icao", "oxygen_pressure_loss_delay_min", 0.0),
        ("easa", "oxygen_pressure_loss_delay_min", 30.0),
        ("faa-121", "oxygen_pressure_loss_delay_min", 0.0),
        ("icao", "oxygen_pressure_loss_all_above_ft", 10_000.0),
        ("easa", "oxygen_pressure_loss_all_above_ft", 15_000.0),
        ("faa-121", "oxygen_pressure_loss_all_above_ft", 15_000.0),
        ("icao", "oxygen_pressure_loss_passengers_share", 1.0),
        ("easa", "oxygen_pressure_loss_passengers_share", 0.1),
        ("faa-121", "oxygen_pressure_loss_more_share", 0.3),
        ("easa", "ice_braking_coefficient", 0.07),
        ("icao", "ice_braking_coefficient", 0.07),
        ("faa-121", "ice_braking_coefficient", 0.08),
        ("easa", "type_b_min_rvr_m", 550.0),
        ("easa", "type_a_min_rvr_m", 750.0),
        ("easa", "two_dimensional_min_rvr_m", 750.0),
    ],
)
def test_a_figure_is_the_published_one(book: str, name: str, value: float | None) -> None:
    assert load_rulebook(book).number_or_none(name) == value


@pytest.mark.parametrize(
    ("book", "name", "word"),
    [
        ("icao", "ban_gate", "height_above_aerodrome"),
        ("faa-121", "ban_gate", "final_approach_fix"),
        ("faa-121", "ban_element", "visibility"),
        ("easa", "continuation_bar", "operating_minima"),
        ("faa-121", "continuation_bar", "planning_minima"),
        ("faa-121", "engine_failure", "nearest_suitable"),
        ("icao", "minimum_fuel", "MINIMUM FUEL"),
        ("icao", "mayday_fuel", "MAYDAY MAYDAY MAYDAY FUEL"),
        ("faa-121", "dispatch_reserve_basis", "normal_cruise"),
        ("icao", "alternate_low_visibility_credit", "category_i"),
        ("easa", "alternate_low_visibility_credit", "category_i"),
        ("faa-121", "alternate_low_visibility_credit", "LVO_ALTERNATE"),
    ],
)
def test_a_word_is_the_published_one(book: str, name: str, word: str) -> None:
    assert load_rulebook(book).word(name) == word


@pytest.mark.parametrize(
    ("book", "name", "confidence", "force"),
    [
        ("faa-121", "mayday_fuel", "quoted", "guidance"),
        ("faa-121", "missed_gradient", "found", "guidance"),
        ("faa-121", "aerodrome_adequate", "found", "rule"),
        ("faa-121", "icing", "found", "rule"),
        ("easa", "alternate_low_visibility_credit", "memory", "rule"),
        ("easa", "icing", "found", "rule"),
        ("easa", "wind_limits_with_gust", "assumed", "policy"),
        ("icao", "type_a_min_height_ft", "quoted", "rule"),
        ("icao", "terrain_climb_clearance_ft", "memory", "guidance"),
        ("icao", "rescue_floor_category", "quoted", "guidance"),
        ("icao", "rescue_below_alternate", "memory", "guidance"),
        ("easa", "no_alternate_ceiling_ft", "found", "rule"),
        ("icao", "no_alternate_ceiling_ft", "assumed", "policy"),
    ],
)
def test_a_row_is_marked_and_binds_as_its_text_was_found(
    book: str, name: str, confidence: str, force: str
) -> None:
    row = load_rulebook(book).row(name)
    assert (row.confidence, row.force) == (confidence, force)


def test_means_of_compliance_bind_and_guidance_material_does_not() -> None:
    """The project's reading: an AMC counts as rule, a GM or an attachment as guidance."""
    of_europe = [row for row in load_rulebook("easa").rows.values() if row.cite.startswith("EU-AO")]
    means = {row.name: row.force for row in of_europe if re.search(r"\bAMC\d", row.clause)}
    guidance = {row.name: row.force for row in of_europe if re.match(r"GM\d?\b", row.clause)}
    assert set(means.values()) == {Force.RULE}, means
    assert set(guidance.values()) == {Force.GUIDANCE}, guidance


def test_material_of_the_former_attachment_is_cited_where_it_is_now() -> None:
    assert [row for row in ALL_ROWS if row.cite == "ICAO-10064"]
    for row in ALL_ROWS:
        assert row.cite != "ICAO-ANNEX6" or "attachment on" not in row.clause
        assert ("attachment B" in (row.edition or "")) <= (row.cite == "ICAO-10064")


def test_the_height_of_the_sun_at_night_is_that_of_civil_twilight_in_every_rulebook() -> None:
    for book in BOOKS:
        assert book.number("night_sun_depression_degrees") == 6.0


def test_part_121_has_no_fuel_floor_in_flight_and_says_that_its_floor_is_policy() -> None:
    row = load_rulebook("faa-121").row("final_reserve_min")
    assert row.force is Force.POLICY
    assert "no floor" in row.text
    assert load_rulebook("icao").row("final_reserve_min").force is Force.RULE


@pytest.mark.parametrize(
    ("book", "reading"),
    [("icao", Reading.PERSISTENT), ("easa", Reading.PERSISTENT), ("faa-121", Reading.CONDITIONAL)],
)
def test_a_rulebook_says_how_it_reads_forecasts(book: str, reading: Reading) -> None:
    assert load_rulebook(book).reading is reading
    assert load_rulebook(book).flag("forecast_gusts_count") is (book == "faa-121")


@pytest.mark.parametrize(("book", "percent"), [("icao", 2.5), ("easa", 2.5), ("faa-121", 3.29)])
def test_the_ordinary_missed_gradient_is_one_quantity_in_two_units(
    book: str, percent: float
) -> None:
    assert load_rulebook(book).gradient_percent("missed_gradient") == pytest.approx(
        percent, abs=0.005
    )


def test_no_rulebook_bars_an_approach_by_ceiling_or_forbids_starting_it() -> None:
    for book in BOOKS:
        assert not book.flag("ban_on_ceiling")
        assert not book.flag("ban_forbids_start")
        assert book.flag("ban_continue_inside_gate")


def test_a_row_that_does_not_exist_is_an_error() -> None:
    with pytest.raises(DataError, match=r"easa\.toml: nonsense: no such row"):
        load_rulebook("easa").row("nonsense")


@pytest.mark.parametrize(
    ("ask", "problem"),
    [
        (lambda book: book.number("ban_gate_height_ft"), "has no figure"),
        (lambda book: book.number("ban_gate"), "not a figure"),
        (lambda book: book.word("ban_on_ceiling"), "not a word"),
        (lambda book: book.flag("ban_gate"), "not a flag"),
    ],
)
def test_asking_a_row_for_what_it_is_not_is_an_error(ask: object, problem: str) -> None:
    with pytest.raises(DataError, match=problem):
        ask(load_rulebook("faa-121"))  # type: ignore[operator]


def test_a_rulebook_that_does_not_exist_is_an_error_that_names_those_that_do() -> None:
    with pytest.raises(DataError, match="known: easa, faa-121, icao"):
        load_rulebook("own")


def test_a_well_formed_file_is_read_with_its_digest() -> None:
    book = read_rulebook(own(GOOD + ', edition = "2"'), rulebook_id="own")
    assert book.number("row") == 1.2
    assert book.row("row").edition == "2"
    assert book.row("row").reference is False
    said = read_rulebook(own(GOOD + ", reference = true"), rulebook_id="own")
    assert said.row("row").reference is True
    assert len(book.digest) == 64
    assert hash(book) == hash(read_rulebook(own(GOOD + ', edition = "2"'), rulebook_id="own"))
    assert book != read_rulebook(own(GOOD), rulebook_id="own")


@pytest.mark.parametrize(
    "content",
    [
        b"\xff",
        b"id = ",
        b'id = "own"\nversion = "1"\n[rows]\n',
        b'id = "own"\nversion = "1"\ntitle = "t"\n',
        own(GOOD, head=HEAD.replace("own", "other")),
        own(GOOD) + b"[more]\n",
    ],
    ids=["encoding", "syntax", "title", "rows", "id", "unknown-table"],
)
def test_a_malformed_file_is_refused(content: bytes) -> None:
    with pytest.raises(DataError, match=r"own\.toml: file"):
        read_rulebook(content, rulebook_id="own")


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (', text = "t"', "", "needs"),
        (', text = "t"', ', text = "t", extra = 1', "needs"),
        ('"ratio"', '"furlong"', "furlong"),
        ('"rule"', '"law"', "law"),
        ('"found"', '"sure"', "sure"),
        ("1.2", "true", "not a figure"),
        ("1.2", "-0.1", "not a figure"),
        ("1.2", "10.1", "from 0 to 10 ratio"),
        ("1.2", '"1.2"', "not a figure"),
        ('value = 1.2, unit = "ratio"', 'value = 1.2, unit = "clause"', "does not go with"),
        ('value = 1.2, unit = "ratio"', 'unit = "word"', "does not go with"),
        ('value = 1.2, unit = "ratio"', 'value = "yes", unit = "flag"', "does not go with"),
        ('"EU-AO"', '"NOWHERE"', "no such source"),
        ('"EU-AO"', '"ASSUMED"', "cannot go with"),
        ('"found"', '"assumed"', "cannot go with"),
        (', text = "t"', ', text = "t", reference = "yes"', "not yes or no"),
        ('"EU-AO"', '"EU-AO-PLANNING"', "but .EU-AO-PLANNING. is quoted"),
    ],
)
def test_a_faulty_row_is_refused_by_name(old: str, new: str, problem: str) -> None:
    with pytest.raises(DataError, match=problem):
        read_rulebook(own(GOOD.replace(old, new)), rulebook_id="own")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('value = 1.2, unit = "ratio"', 'unit = "ft"'),
        ('value = 1.2, unit = "ratio"', 'unit = "clause"'),
        ('value = 1.2, unit = "ratio"', 'value = "w", unit = "word"'),
        ('value = 1.2, unit = "ratio"', 'value = false, unit = "flag"'),
        ("1.2", "0"),
        ("1.2", "10"),
        ('"found"', '"derived"'),
        (', text = "t"', ', text = "t", reference = true'),
    ],
)
def test_a_row_at_the_edge_of_what_is_allowed_is_read(old: str, new: str) -> None:
    assert list(read_rulebook(own(GOOD.replace(old, new)), rulebook_id="own").rows) == ["row"]


@pytest.mark.parametrize(
    ("unit", "most"),
    [
        ("ft", 45_000),
        ("m", 20_000),
        ("min", 600),
        ("percent", 100),
        ("ft/NM", 1000),
        ("ratio", 10),
        ("count", 1000),
        ("degrees", 90),
        ("h", 24),
        ("kg", 1_000_000),
    ],
)
def test_a_figure_is_believed_up_to_the_most_of_its_unit(unit: str, most: int) -> None:
    for value, believed in ((most, True), (most + 0.5, False)):
        row = GOOD.replace("1.2", str(value)).replace('"ratio"', f'"{unit}"')
        if believed:
            assert read_rulebook(own(row), rulebook_id="own").number("row") == most
        else:
            with pytest.raises(DataError, match="not a figure"):
                read_rulebook(own(row), rulebook_id="own")
