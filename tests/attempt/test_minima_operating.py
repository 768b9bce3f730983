"""Operating minima: published values, what makes them worse, and what stays unknown."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.attempt.category import AeroplaneCategory, category_of, circling_minimum
from decision.attempt.minima.equipment import Method, ProcedureGroup, downgrades
from decision.attempt.minima.visual_tables import lighting_rvr_m, system_minimum_ft
from decision.case.derive import record_of
from decision.case.spec import Choice, ListOf
from decision.case.types import Approach, ApproachKind, Lights
from decision.errors import OutOfRange
from tests.attempt.minima_builders import approach, circling, minima, non_precision
from tests.changing import replace

A, B, C, D, E = AeroplaneCategory
ITEMS = (
    "approach_lights",
    "approach_lights_except_last_210_m",
    "approach_lights_except_last_420_m",
    "edge_lights",
    "centreline_lights",
    "touchdown_zone_lights",
    "rvr_system",
    "ils_standby_transmitter",
    "outer_marker",
    "middle_marker",
    "taxiway_lights",
    "standby_power",
    "ils",
    "localizer",
    "glide_path",
    "ils_dme",
    "ils_downgraded",
    "dme",
    "vor",
    "ndb",
    "aid_that_may_be_needed",
)


# --- aeroplane category ---


@pytest.mark.parametrize(
    ("speed_kt", "category"),
    [
        (1.0, A),
        (90.9, A),
        (91.0, B),
        (120.0, B),
        (120.9, B),
        (121.0, C),
        (140.0, C),
        (141.0, D),
        (165.0, D),
        (166.0, E),
        (210.0, E),
        (210.9, E),
    ],
    ids=lambda value: f"PANS-OPS-I-{value}",
)
def test_the_category_follows_from_the_speed(speed_kt: float, category: AeroplaneCategory) -> None:
    assert category_of(speed_kt) is category


@pytest.mark.parametrize("speed_kt", [-1.0, 0.0, 211.0, float("nan")])
def test_a_speed_without_a_category_is_refused(speed_kt: float) -> None:
    with pytest.raises(OutOfRange, match="approach_speed_kt"):
        category_of(speed_kt)


@pytest.mark.parametrize(
    ("category", "mdh_ft", "visibility_m"),
    [(A, 400.0, 1500.0), (B, 500.0, 1600.0), (C, 600.0, 2400.0), (D, 700.0, 3600.0)],
)
def test_circling_minima_are_the_published_ones(
    category: AeroplaneCategory, mdh_ft: float, visibility_m: float
) -> None:
    found = circling_minimum(category)
    assert found is not None
    assert (found.mdh_ft, found.visibility_m) == (mdh_ft, visibility_m)


def test_there_is_no_circling_minimum_for_category_e() -> None:
    assert circling_minimum(E) is None


# --- RVR by height and lights ---


@pytest.mark.parametrize(
    ("height_ft", "lights", "rvr_m"),
    [
        (200.0, Lights.FULL, 550.0),
        (200.0, Lights.INTERMEDIATE, 750.0),
        (210.0, Lights.BASIC, 1000.0),
        (210.0, Lights.NONE, 1200.0),
        (210.5, Lights.INTERMEDIATE, 800.0),
        (211.0, Lights.INTERMEDIATE, 800.0),
        (250.0, Lights.NONE, 1300.0),
        (260.0, Lights.FULL, 600.0),
        (281.0, Lights.FULL, 650.0),
        (500.0, Lights.BASIC, 2100.0),
        (740.0, Lights.FULL, 2700.0),
        (1200.0, Lights.FULL, 4600.0),
        (1201.0, Lights.FULL, 5000.0),
        (10_000.0, Lights.FULL, 5000.0),
    ],
    ids=lambda value: f"EU-AO-{value}",
)
def test_rvr_by_height_and_lights_is_the_published_one(
    height_ft: float, lights: Lights, rvr_m: float
) -> None:
    assert lighting_rvr_m(height_ft, lights=lights) == rvr_m


@pytest.mark.parametrize("height_ft", [199.9, 10_001.0])
def test_heights_outside_the_table_are_refused(height_ft: float) -> None:
    with pytest.raises(OutOfRange, match="height_ft"):
        lighting_rvr_m(height_ft, lights=Lights.FULL)


@given(low=st.floats(200.0, 9_999.0), more=st.floats(0.0, 1.0), lights=st.sampled_from(Lights))
def test_a_higher_minimum_or_fewer_lights_never_need_less_rvr(
    low: float, more: float, lights: Lights
) -> None:
    assert lighting_rvr_m(low + more, lights=lights) >= lighting_rvr_m(low, lights=lights)
    assert lighting_rvr_m(low, lights=lights) >= lighting_rvr_m(low, lights=Lights.FULL)
    assert lighting_rvr_m(low, lights=lights) <= lighting_rvr_m(low, lights=Lights.NONE)


@pytest.mark.parametrize(
    ("needs", "height_ft"),
    [
        (("ILS",), 200.0),
        (("ILS", "DME"), 200.0),
        (("LPV",), 200.0),
        (("GNSS",), 250.0),
        (("LOC",), 250.0),
        (("VOR",), 300.0),
        (("VOR", "DME"), 250.0),
        (("DME", "NDB"), 300.0),
        (("NDB",), 350.0),
        (("VDF",), 350.0),
        (("SRA_HALF_NM",), 250.0),
        (("SRA_1NM",), 300.0),
        (("SRA_2NM",), 350.0),
        (("SRA",), 350.0),
        ((), None),
        (("RNP-AR",), None),
    ],
    ids=lambda value: f"EU-AO-{value}",
)
def test_system_minima_are_the_published_ones(
    needs: tuple[str, ...], height_ft: float | None
) -> None:
    assert system_minimum_ft(needs) == height_ft


# --- published minima ---


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_published_minima_stand_when_everything_works(rulebook: str) -> None:
    found = minima(approach(), rulebook=rulebook)
    assert (found.usable, found.height_ft, found.rvr_m) == (True, 200.0, 550.0)
    assert found.because == found.unknown == found.barred == found.conditions == ()


def test_a_published_visibility_stays_a_visibility() -> None:
    found = minima(approach(rvr_m=None, visibility_m=800.0))
    assert (found.rvr_m, found.visibility_m) == (None, 800.0)


def test_a_height_that_is_not_published_is_unknown() -> None:
    found = minima(approach(dh_ft=None))
    assert found.usable is None
    assert found.unknown == ("minimum height not published",)


def test_without_height_and_rvr_nothing_is_derived() -> None:
    found = minima(approach(dh_ft=None, rvr_m=None))
    assert (found.usable, found.height_ft, found.rvr_m) == (None, None, None)


def test_rvr_not_published_follows_from_height_and_lights() -> None:
    found = minima(approach(rvr_m=None, lights=Lights.BASIC))
    assert (found.usable, found.rvr_m) == (True, 1000.0)
    assert found.because == ("RVR 1000 m by height and BALS [EU-AO] AMC5 and AMC11 CAT.OP.MPA.110",)


def test_rvr_neither_published_nor_derivable_is_unknown() -> None:
    found = minima(approach(rvr_m=None, lights=None))
    assert (found.usable, found.rvr_m) == (None, None)
    assert "class of approach lights not given" in found.unknown[0]


def test_the_united_states_table_derives_nothing_from_lights() -> None:
    found = minima(approach(rvr_m=None), rulebook="faa-121")
    assert found.usable is None
    assert found.unknown == ("minimum RVR or visibility not published",)


@pytest.mark.parametrize(
    ("subject", "category", "rvr_m"),
    [
        (approach(rvr_m=None), C, 550.0),
        (non_precision(mdh_ft=None, dh_ft=300.0), C, 750.0),
        (non_precision(mdh_ft=None, dh_ft=500.0), C, 1500.0),
        (non_precision(mdh_ft=500.0), C, 1900.0),
        (non_precision(mdh_ft=500.0), D, 1900.0),
        (non_precision(mdh_ft=500.0), E, 1900.0),
        (non_precision(mdh_ft=500.0), None, 1900.0),
        (non_precision(mdh_ft=500.0), B, 1700.0),
        (non_precision(mdh_ft=700.0), A, 1700.0),
        (non_precision(mdh_ft=None, dh_ft=700.0), A, 1500.0),
        (non_precision(mdh_ft=700.0, kind=ApproachKind.TYPE_A_3D), A, 1500.0),
        (non_precision(mdh_ft=700.0), C, 2900.0),
    ],
    ids=[
        "EU-AO-table-8-category-I",
        "EU-AO-table-8-non-precision-runway",
        "EU-AO-table-9",
        "EU-AO-level-segment-C",
        "EU-AO-level-segment-D",
        "EU-AO-level-segment-E",
        "EU-AO-level-segment-unknown-category",
        "EU-AO-level-segment-B",
        "EU-AO-cap-and-level-segment-A",
        "EU-AO-cap-A",
        "EU-AO-three-dimensional-has-no-level-segment",
        "EU-AO-no-cap-C",
    ],
)
def test_a_derived_rvr_has_floor_cap_and_level_segment(
    subject: Approach, category: AeroplaneCategory | None, rvr_m: float
) -> None:
    assert minima(subject, category=category).rvr_m == rvr_m


@pytest.mark.parametrize(
    ("subject", "height_ft", "raised"),
    [
        (non_precision(mdh_ft=249.0, needs=("LOC",)), 250.0, True),
        (non_precision(mdh_ft=250.0, needs=("LOC",)), 250.0, False),
        (non_precision(mdh_ft=260.0, needs=("LOC",)), 260.0, False),
        (non_precision(mdh_ft=299.0, needs=("VOR",)), 300.0, True),
        (non_precision(mdh_ft=240.0, needs=("RNP-AR",)), 250.0, True),
        (approach(dh_ft=240.0, needs=("VDF",)), 350.0, True),
        (approach(dh_ft=210.0, needs=("RNP-AR",)), 210.0, False),
    ],
)
def test_a_height_is_never_under_the_system_minimum_or_the_least_of_its_type(
    subject: Approach, height_ft: float, raised: bool
) -> None:
    found = minima(subject)
    assert found.height_ft == height_ft
    assert any("height raised" in why for why in found.because) is raised


def test_published_heights_stand_under_the_united_states_rulebook() -> None:
    subject = non_precision(mdh_ft=249.0, rvr_m=1600.0)
    assert minima(subject, rulebook="faa-121").height_ft == 249.0


# --- lost on board ---


@pytest.mark.parametrize(
    ("lost", "usable"), [((), True), (("GNSS",), True), (("ILS",), False), (("ILS", "GNSS"), False)]
)
def test_an_approach_needs_what_it_needs(lost: tuple[str, ...], usable: bool) -> None:
    found = minima(approach(), lost=lost)
    assert found.usable is usable
    assert found.barred == (() if usable else ("needs ILS, which is lost",))


def test_being_unusable_outweighs_being_unknown() -> None:
    assert minima(approach(dh_ft=None), lost=("ILS",)).usable is False


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
@pytest.mark.parametrize(
    ("published_m", "needed_m"),
    [(550.0, 750.0), (749.0, 750.0), (750.0, 750.0), (800.0, 800.0)],
)
def test_category_i_without_flight_director_needs_rvr_750_m(
    rulebook: str, published_m: float, needed_m: float
) -> None:
    found = minima(approach(rvr_m=published_m), rulebook=rulebook, lost=("FLIGHT_DIRECTOR",))
    assert (found.usable, found.rvr_m) == (True, needed_m)
    assert bool(found.because) is (published_m < needed_m)


def test_a_visibility_minimum_is_raised_in_the_same_way() -> None:
    subject = approach(rvr_m=None, visibility_m=600.0)
    assert minima(subject, lost=("FLIGHT_DIRECTOR",)).visibility_m == 750.0


@pytest.mark.parametrize("rulebook", ["icao", "easa"])
@pytest.mark.parametrize(
    ("changes", "precise", "rvr_m"),
    [
        ({"kind": ApproachKind.TYPE_B}, False, 550.0),
        ({"kind": ApproachKind.TYPE_A_3D}, True, 550.0),
        ({"kind": ApproachKind.TYPE_A_3D}, False, 750.0),
        ({"kind": ApproachKind.TYPE_A_2D}, True, 750.0),
        ({"kind": ApproachKind.TYPE_A_2D}, False, 750.0),
    ],
    ids=["proves-it", "3d-precision-runway", "3d-other", "2d-precision-runway", "2d-other"],
)
def test_the_least_rvr_is_that_of_the_runway_and_of_the_guidance(
    rulebook: str, changes: dict[str, Any], precise: bool, rvr_m: float
) -> None:
    """[EU-AO] AMC5 CAT.OP.MPA.110 tables 8 and 10, at 250 ft with full lights."""
    subject = approach(rvr_m=None, dh_ft=250.0, needs=(), **changes)
    found = minima(subject, rulebook=rulebook, precision_runway=precise)
    assert found.rvr_m == rvr_m
    guessed = any("nothing says that the runway" in why for why in found.because)
    assert guessed is (rvr_m == 750.0 and not precise)


def test_with_vertical_guidance_a_low_rvr_is_flown_by_flight_director() -> None:
    subject = approach(rvr_m=None, dh_ft=250.0, needs=(), kind=ApproachKind.TYPE_A_3D)
    found = minima(subject, lost=("FLIGHT_DIRECTOR",), precision_runway=True)
    assert found.rvr_m == 750.0
    american = minima(replace(subject, rvr_m=600.0), rulebook="faa-121", lost=("FLIGHT_DIRECTOR",))
    assert american.rvr_m == 600.0


def test_an_approach_without_vertical_guidance_does_not_ask_for_a_flight_director() -> None:
    subject = non_precision(mdh_ft=None, dh_ft=300.0, rvr_m=700.0)
    assert minima(subject, lost=("FLIGHT_DIRECTOR",)).rvr_m == 700.0


# --- low visibility ---

CATEGORY_II = approach(id="ILS 09 II", dh_ft=100.0, rvr_m=300.0)


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
@pytest.mark.parametrize(
    ("dh_ft", "rvr_m", "usable"),
    [(199.0, 550.0, False), (200.0, 549.0, False), (200.0, 550.0, True), (0.0, 75.0, False)],
)
def test_minima_below_category_i_need_the_approval(
    rulebook: str, dh_ft: float, rvr_m: float, usable: bool
) -> None:
    subject = approach(dh_ft=dh_ft, rvr_m=rvr_m)
    assert minima(subject, rulebook=rulebook).usable is usable
    approved = minima(subject, rulebook=rulebook, approvals=("LVO",))
    assert (approved.usable, approved.height_ft, approved.rvr_m) == (True, dh_ft, rvr_m)


@pytest.mark.parametrize(
    ("lost", "usable"),
    [("FLIGHT_DIRECTOR", True), ("RADALT", False), ("AUTOPILOT", False), ("GNSS", True)],
)
def test_below_category_i_needs_radio_altimeter_and_autopilot(lost: str, usable: bool) -> None:
    assert minima(CATEGORY_II, lost=(lost,), approvals=("LVO",)).usable is usable


def test_a_low_visibility_rvr_that_is_not_published_is_unknown() -> None:
    subject = approach(dh_ft=100.0, rvr_m=None)
    found = minima(subject, approvals=("LVO",))
    assert (found.usable, found.unknown) == (None, ("minimum RVR not published",))


@pytest.mark.parametrize(
    ("item", "usable"),
    [
        ("approach_lights", False),
        ("standby_power", False),
        ("centreline_lights", None),
        ("rvr_system", None),
        ("outer_marker", True),
        ("taxiway_lights", True),
    ],
)
def test_low_visibility_with_equipment_out_is_refused_or_not_known(
    item: str, usable: bool | None
) -> None:
    subject = approach(dh_ft=100.0, rvr_m=300.0, equipment_out=(item,))
    assert minima(subject, approvals=("LVO",)).usable is usable


# --- ground equipment ---


def test_every_item_of_the_request_has_a_cell_for_every_method_and_group() -> None:
    spec = record_of(Approach).by_name["equipment_out"].spec
    assert isinstance(spec, ListOf)
    assert isinstance(spec.item, Choice)
    assert set(ITEMS) == set(spec.item.values)
    for method in Method:
        for group in ProcedureGroup:
            assert {each.equipment for each in downgrades(ITEMS, method=method, group=group)} == (
                set(ITEMS)
            )


@pytest.mark.parametrize(
    ("item", "lights", "rvr_m"),
    [
        ("approach_lights", Lights.NONE, 1200.0),
        ("approach_lights_except_last_210_m", Lights.BASIC, 1000.0),
        ("approach_lights_except_last_420_m", Lights.INTERMEDIATE, 750.0),
    ],
    ids=["EU-AO-AMC11-NALS", "EU-AO-AMC11-BALS", "EU-AO-AMC11-IALS"],
)
@pytest.mark.parametrize("rulebook", ["icao", "easa"])
def test_approach_lights_out_lower_the_class_and_raise_the_rvr(
    rulebook: str, item: str, lights: Lights, rvr_m: float
) -> None:
    found = minima(approach(equipment_out=(item,)), rulebook=rulebook)
    assert (found.usable, found.lights, found.rvr_m) == (True, lights, rvr_m)
    assert "[EU-AO]" in found.because[0]


def test_lights_out_never_raise_a_class_that_was_lower() -> None:
    subject = approach(
        lights=Lights.BASIC, rvr_m=1000.0, equipment_out=("approach_lights_except_last_420_m",)
    )
    assert (minima(subject).lights, minima(subject).rvr_m) == (Lights.BASIC, 1000.0)


def test_lights_of_unknown_class_are_relied_on_for_what_still_works() -> None:
    subject = approach(lights=None, equipment_out=("approach_lights_except_last_210_m",))
    assert (minima(subject).lights, minima(subject).rvr_m) == (Lights.BASIC, 1000.0)


def test_a_published_rvr_above_the_table_stands_with_lights_out() -> None:
    subject = approach(rvr_m=1500.0, equipment_out=("approach_lights",))
    assert minima(subject).rvr_m == 1500.0


def test_a_published_visibility_is_raised_with_lights_out() -> None:
    subject = approach(rvr_m=None, visibility_m=800.0, equipment_out=("approach_lights",))
    assert (minima(subject).rvr_m, minima(subject).visibility_m) == (None, 1200.0)


@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
@pytest.mark.parametrize(("is_night", "usable"), [(False, True), (True, False), (None, None)])
@pytest.mark.parametrize(
    "subject", [approach(), non_precision(rvr_m=1500.0), circling()], ids=["B", "A", "circling"]
)
def test_edge_lights_out_matter_at_night(
    rulebook: str, is_night: bool | None, usable: bool | None, subject: Approach
) -> None:
    changed = replace(subject, equipment_out=("edge_lights",))
    found = minima(changed, rulebook=rulebook, is_night=is_night)
    assert found.usable is usable
    assert bool(found.barred) is (usable is False)
    assert bool(found.unknown) is (usable is None)


@pytest.mark.parametrize("item", ["centreline_lights", "touchdown_zone_lights"])
@pytest.mark.parametrize(
    ("lost", "rvr_m"), [((), 550.0), (("FLIGHT_DIRECTOR",), 750.0), (("AUTOPILOT",), 550.0)]
)
def test_runway_lights_out_need_a_flight_director_or_rvr_750_m(
    item: str, lost: tuple[str, ...], rvr_m: float
) -> None:
    found = minima(approach(equipment_out=(item,)), lost=lost)
    assert found.rvr_m == rvr_m
    named = any(item.replace("_", " ") in why for why in found.because)
    assert named is (rvr_m > 550.0)


@pytest.mark.parametrize(
    ("items", "usable"),
    [
        (("centreline_lights",), True),
        (("centreline_lights", "approach_lights"), True),
        (("centreline_lights", "touchdown_zone_lights"), False),
        (("edge_lights", "touchdown_zone_lights"), False),
    ],
)
def test_several_kinds_of_runway_lights_out_are_not_acceptable(
    items: tuple[str, ...], usable: bool
) -> None:
    assert minima(approach(equipment_out=items)).usable is usable


@pytest.mark.parametrize(
    "item", ["rvr_system", "ils_standby_transmitter", "middle_marker", "taxiway_lights"]
)
@pytest.mark.parametrize("rulebook", ["icao", "easa", "faa-121"])
def test_equipment_without_effect_changes_nothing(rulebook: str, item: str) -> None:
    assert minima(approach(equipment_out=(item,)), rulebook=rulebook) == minima(
        approach(), rulebook=rulebook
    )


def test_an_outer_marker_out_is_a_condition_for_the_crew() -> None:
    found = minima(approach(equipment_out=("outer_marker",)))
    assert found.usable is True
    assert found.conditions == (
        "outer marker out: only with a height check at 1000 ft in its place [EU-AO]",
    )


@pytest.mark.parametrize(
    ("changes", "items", "rvr_m", "visibility_m"),
    [
        ({"rvr_m": 550.0}, ("approach_lights",), 1200.0, None),
        ({"rvr_m": 650.0}, ("approach_lights",), 1400.0, None),
        ({"rvr_m": 600.0}, ("approach_lights",), 1400.0, None),
        ({"rvr_m": 599.0}, ("approach_lights",), 1200.0, None),
        ({"rvr_m": 750.0}, ("approach_lights",), 1200.0, None),
        ({"rvr_m": 1200.0}, ("approach_lights_except_last_420_m",), 1500.0, None),
        ({"rvr_m": 1500.0}, ("approach_lights",), 1800.0, None),
        ({"rvr_m": 1800.0}, ("approach_lights",), 1.5 * 1609.344, None),
        ({"rvr_m": 2000.0}, ("approach_lights",), 2000.0 + 0.25 * 1609.344, None),
        ({"rvr_m": 550.0}, ("centreline_lights",), 750.0, None),
        ({"rvr_m": 650.0}, ("touchdown_zone_lights",), 750.0, None),
        ({"rvr_m": 750.0}, ("touchdown_zone_lights",), 750.0, None),
        (
            {"rvr_m": None, "visibility_m": 804.672},
            ("approach_lights",),
            None,
            0.75 * 1609.344,
        ),
        (
            {"kind": ApproachKind.TYPE_A_3D, "rvr_m": 750.0},
            ("approach_lights",),
            1500.0,
            None,
        ),
        (
            {"kind": ApproachKind.TYPE_A_3D, "rvr_m": None, "visibility_m": 1609.344},
            ("approach_lights",),
            None,
            1.5 * 1609.344,
        ),
    ],
    ids=[
        "FAA-TPP-rvr-1800-to-4000",
        "FAA-TPP-rvr-2200-to-4500",
        "FAA-TPP-rvr-2000-to-4500",
        "FAA-TPP-rvr-under-2000-to-4000",
        "FAA-TPP-half-mile-to-three-quarters",
        "FAA-TPP-three-quarters-to-one-mile",
        "FAA-TPP-one-mile-to-one-and-a-quarter",
        "FAA-TPP-beyond-the-equivalents",
        "FAA-TPP-above-the-equivalents",
        "FAA-TPP-rvr-1800-to-2400-centreline",
        "FAA-TPP-rvr-2200-to-2400-touchdown-zone",
        "FAA-TPP-rvr-2400-stays",
        "FAA-TPP-visibility-half-to-three-quarters",
        "FAA-TPP-section-3-rvr",
        "FAA-TPP-section-3-visibility",
    ],
)
def test_the_united_states_table_raises_published_minima(
    changes: dict[str, Any], items: tuple[str, ...], rvr_m: float | None, visibility_m: float | None
) -> None:
    found = minima(approach(equipment_out=items, **changes), rulebook="faa-121")
    assert found.rvr_m == (None if rvr_m is None else pytest.approx(rvr_m))
    assert found.visibility_m == (None if visibility_m is None else pytest.approx(visibility_m))
    assert found.usable is True


# --- circling ---


@pytest.mark.parametrize(
    ("category", "height_ft", "visibility_m"),
    [(A, 650.0, 2400.0), (B, 650.0, 2400.0), (C, 650.0, 2400.0), (D, 700.0, 3600.0)],
)
@pytest.mark.parametrize("rulebook", ["icao", "easa"])
def test_a_faster_landing_raises_circling_minima(
    rulebook: str, category: AeroplaneCategory, height_ft: float, visibility_m: float
) -> None:
    found = minima(circling(), rulebook=rulebook, category=category)
    assert (found.usable, found.height_ft, found.visibility_m) == (True, height_ft, visibility_m)
    assert bool(found.because) is (category is D)


@pytest.mark.parametrize("category", [E, None])
def test_circling_in_a_category_without_minimum_is_unknown(
    category: AeroplaneCategory | None,
) -> None:
    found = minima(circling(), category=category)
    assert found.usable is None
    assert "circling minimum" in found.unknown[0]
    fastest = minima(circling(), category=D)  # no less than the fastest that has one
    assert (found.height_ft, found.visibility_m) == (fastest.height_ft, fastest.visibility_m)


def test_circling_without_published_visibility_takes_the_least_of_the_category() -> None:
    assert minima(circling(visibility_m=None)).visibility_m == 2400.0


def test_circling_without_published_height_is_unknown() -> None:
    found = minima(circling(mdh_ft=None))
    assert (found.usable, found.height_ft) == (None, None)


def test_circling_minima_stand_as_published_under_the_united_states_rulebook() -> None:
    found = minima(circling(), rulebook="faa-121", category=D)
    assert (found.usable, found.height_ft, found.visibility_m) == (True, 650.0, 2400.0)
    unpublished = minima(circling(visibility_m=None), rulebook="faa-121")
    assert unpublished.unknown == ("minimum visibility for circling not published",)


# --- laws ---

approaches = st.builds(
    approach,
    kind=st.sampled_from(ApproachKind),
    dh_ft=st.none() | st.floats(0.0, 1500.0),
    mdh_ft=st.none() | st.floats(200.0, 1500.0),
    rvr_m=st.none() | st.floats(75.0, 5000.0),
    visibility_m=st.none() | st.floats(100.0, 5000.0),
    lights=st.none() | st.sampled_from(Lights),
    equipment_out=st.lists(st.sampled_from(ITEMS), max_size=4, unique=True).map(tuple),
)
LOST = ("ILS", "GNSS", "RADALT", "AUTOPILOT", "FLIGHT_DIRECTOR")
ORDER = (True, None, False)


questions = st.fixed_dictionaries(
    {
        "rulebook": st.sampled_from(("icao", "easa", "faa-121")),
        "category": st.none() | st.sampled_from(AeroplaneCategory),
        "is_night": st.sampled_from((True, False, None)),
        "approvals": st.sampled_from(((), ("LVO",))),
    }
)


@given(
    subject=approaches,
    asked=questions,
    item=st.sampled_from(ITEMS),
    equipment=st.sampled_from(LOST),
)
def test_anything_more_out_or_lost_never_makes_minima_better(
    subject: Approach, asked: dict[str, Any], item: str, equipment: str
) -> None:
    before = minima(subject, **asked)
    out = tuple(dict.fromkeys((*subject.equipment_out, item)))
    after = minima(replace(subject, equipment_out=out), lost=(equipment,), **asked)
    # an item out can tell the class of lights that was not given, and with it an RVR
    assert ORDER.index(after.usable) >= ORDER.index(before.usable) or before.lights is None
    for name in ("height_ft", "rvr_m", "visibility_m"):
        was, is_now = getattr(before, name), getattr(after, name)
        assert was is None or (is_now is not None and is_now >= was)


@given(subject=approaches, asked=questions)
def test_a_faster_category_never_makes_minima_better(
    subject: Approach, asked: dict[str, Any]
) -> None:
    found = [minima(subject, **{**asked, "category": each}) for each in AeroplaneCategory]
    for slower, faster in pairwise(found):
        assert ORDER.index(faster.usable) >= ORDER.index(slower.usable)
        for name in ("height_ft", "rvr_m", "visibility_m"):
            was, is_now = getattr(slower, name), getattr(faster, name)
            assert was is None or (is_now is not None and is_now >= was)


@given(subject=approaches, asked=questions)
def test_usable_minima_are_complete(subject: Approach, asked: dict[str, Any]) -> None:
    found = minima(subject, **asked)
    if found.usable:
        assert found.height_ft is not None
        assert found.rvr_m is not None or found.visibility_m is not None
    assert (found.usable is False) == bool(found.barred)
