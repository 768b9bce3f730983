"""Codes from every kind of evidence, alone and together; the worst always wins."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.weather.conditions import conditions
from decision.weather.report import BrakingAction, Deposit
from decision.weather.runway import (
    BRAKING_OF_ACTION,
    CONTAMINANT_OF_DEPOSIT,
    ConditionBasis,
    Contaminant,
    RunwayCondition,
    from_the_other_end,
    matrix_code,
    runway_condition,
)
from decision.weather.spots import Braking, SpotObservation
from decision.weather.use import Reading
from tests.weather.conditions_builders import at, station, window

DRY = "24008KT 9999 SCT030 12/08 Q1013"
WET = "24008KT 9999 -RA SCT030 12/08 Q1013"
FROST = "24008KT 9999 SCT030 M16/M18 Q1013"


def surface(
    body: str = DRY,
    *,
    forecast: str = "",
    runway: str = "24L",
    thirds: tuple[int, int, int] | None = None,
    contaminant: str | None = None,
    depth_mm: float | None = None,
    braking: Braking | None = None,
    spots: Sequence[SpotObservation] = (),
    landing: str = "091200",
) -> RunwayCondition:
    """The condition of a runway under an observation, a forecast and what else is known."""
    raws = [f"METAR XABC 091150Z {body}"] if body else []
    raws += [f"TAF XABC 091100Z 0911/1011 24008KT 9999 SCT030 {forecast}"] if forecast else []
    weather = station(*raws, as_of="091155")
    seen = conditions(
        weather,
        window=window("091200", "091215"),
        as_of=at("091155"),
        reading=Reading.PERSISTENT,
    )
    told = [] if braking is None else [SpotObservation(at=at("091152"), braking=braking)]
    return runway_condition(
        runway=runway,
        weather=seen,
        landing_at=at(landing),
        observation=weather.observation,
        thirds=thirds,
        contaminant=contaminant,
        depth_mm=depth_mm,
        spots=(*told, *spots),
    )


# --- the matrix ---


@pytest.mark.parametrize(
    ("contaminant", "depth_mm", "degc", "code"),
    [
        ("dry", None, None, 6),
        ("frost", None, None, 5),
        ("damp", None, None, 5),
        ("wet", 3.0, None, 5),
        ("wet", 3.1, None, 2),
        ("slippery_wet", None, None, 3),
        ("standing_water", 3.1, None, 2),
        ("slush", 3.0, None, 5),
        ("slush", 3.1, None, 2),
        ("dry_snow", 3.0, None, 5),
        ("dry_snow", 3.1, None, 3),
        ("wet_snow", 3.0, None, 5),
        ("wet_snow", 3.1, None, 3),
        ("compacted_snow", None, -15.0, 4),
        ("compacted_snow", None, -14.9, 3),
        ("snow_over_compacted_snow", 1.0, -20.0, 3),
        ("ice", None, -20.0, 1),
        ("wet_ice", None, None, 0),
        ("slush_over_ice", None, None, 0),
        ("water_over_compacted_snow", None, None, 0),
        ("snow_over_ice", None, None, 0),
    ],
    ids=lambda value: f"GRF-{value}" if isinstance(value, str) else str(value),
)
def test_the_runway_condition_matrix(
    contaminant: str, depth_mm: float | None, degc: float | None, code: int
) -> None:
    found = matrix_code(Contaminant(contaminant), depth_mm=depth_mm, temperature_degc=degc)
    assert found == code


@pytest.mark.parametrize(
    ("contaminant", "code"), [("slush", 2), ("dry_snow", 3), ("compacted_snow", 3), ("wet", 2)]
)
def test_without_depth_or_temperature_the_worst_row_counts(contaminant: str, code: int) -> None:
    assert matrix_code(Contaminant(contaminant), depth_mm=None, temperature_degc=None) == code


def test_every_deposit_and_contaminant_has_a_code() -> None:
    assert set(CONTAMINANT_OF_DEPOSIT) == set(Deposit)
    assert set(BRAKING_OF_ACTION) == set(BrakingAction) - {BrakingAction.UNRELIABLE}
    for contaminant in Contaminant:
        assert 0 <= matrix_code(contaminant, depth_mm=None, temperature_degc=None) <= 6


def test_a_contaminant_that_the_table_lacks_is_an_error() -> None:
    with pytest.raises(ValueError, match="marbles"):
        surface(contaminant="marbles")


# --- one source at a time ---


def test_a_reported_code_stands_in_thirds() -> None:
    found = surface(thirds=(5, 3, 6))
    assert [third.code for third in found.thirds] == [5, 3, 6]
    assert (found.code, found.at_best, found.basis) == (3, 3, ConditionBasis.REPORTED_CODE)
    assert "reported runway condition code 5/3/6" in found.because
    assert found.assumptions == ()


def test_a_reported_contaminant_is_looked_up_with_the_temperature_of_the_report() -> None:
    assert surface(FROST, contaminant="compacted_snow").code == 4
    mild = surface("24008KT 9999 SCT030 M05/M08 Q1013", contaminant="compacted_snow")
    assert mild.code == 3
    assert mild.basis is ConditionBasis.CONTAMINANT
    assert surface(contaminant="slush", depth_mm=3.0).code == 5
    assert "slush 3 mm is code 5" in surface(contaminant="slush", depth_mm=3.0).because


@pytest.mark.parametrize(
    ("braking", "code"),
    [
        (Braking.GOOD, 6),
        (Braking.GOOD_TO_MEDIUM, 4),
        (Braking.MEDIUM, 3),
        (Braking.MEDIUM_TO_POOR, 2),
        (Braking.POOR, 1),
        (Braking.LESS_THAN_POOR, 0),
    ],
    ids=lambda value: f"GRF-{value}",
)
def test_a_braking_report_lowers_a_dry_runway(braking: Braking, code: int) -> None:
    assert surface(thirds=(6, 6, 6), braking=braking).code == code


def test_good_braking_alone_is_a_wet_runway_at_best() -> None:
    found = surface(body="", braking=Braking.GOOD)
    assert (found.code, found.basis) == (5, ConditionBasis.BRAKING)


def test_of_several_braking_reports_the_newest_counts_and_the_worst_of_one_minute() -> None:
    told = (
        SpotObservation(at=at("091130"), braking=Braking.POOR),
        SpotObservation(at=at("091150"), braking=Braking.MEDIUM),
        SpotObservation(at=at("091150"), braking=Braking.GOOD_TO_MEDIUM),
        SpotObservation(at=at("091152"), qnh_hpa=1010.0),
    )
    assert surface(spots=told).code == 3


SNOW = WET.replace("-RA", "-SN")


def braked(braking: Braking, told: str, *, runway: str | None = None) -> SpotObservation:
    return SpotObservation(at=at(told), braking=braking, braking_runway=runway)


@pytest.mark.parametrize(
    ("told", "code", "at_best"),
    [("091152", 3, 3), ("091100", 3, 3), ("091059", None, 3), ("080900", None, 3)],
)
def test_an_old_braking_report_lowers_the_best_but_makes_no_surface_known(
    told: str, code: int | None, at_best: int
) -> None:
    found = surface(SNOW, spots=[braked(Braking.MEDIUM, told)])
    assert (found.code, found.at_best) == (code, at_best)
    assert any("too old at the landing" in text for text in found.because) == (code is None)


@pytest.mark.parametrize(
    ("braking", "code"),
    [
        (Braking.GOOD, 6),
        (Braking.GOOD_TO_MEDIUM, 4),
        (Braking.MEDIUM, 3),
        (Braking.MEDIUM_TO_POOR, 2),
        (Braking.POOR, 1),
        (Braking.LESS_THAN_POOR, 0),
    ],
)
def test_an_old_braking_report_lowers_a_known_surface_and_never_raises_one(
    braking: Braking, code: int
) -> None:
    old = [braked(braking, "091000")]
    assert surface(spots=old).code == code
    assert surface(thirds=(3, 3, 3), spots=old).code == min(3, code)
    assert surface(SNOW, spots=old).code is None


def test_the_age_of_braking_is_counted_to_the_landing() -> None:
    told = [braked(Braking.MEDIUM, "091150")]
    assert surface(SNOW, spots=told, landing="091250").code == 3
    assert surface(SNOW, spots=told, landing="091251").code is None


def test_of_old_braking_reports_the_worst_lowers() -> None:
    old = [braked(Braking.POOR, "091000"), braked(Braking.GOOD, "091030")]
    assert surface(spots=old).code == 1
    assert surface(spots=[*old, braked(Braking.GOOD_TO_MEDIUM, "091130")]).code == 4


@pytest.mark.parametrize(
    ("of", "code"), [("24L", 1), ("06R", 1), (None, 1), ("24R", 6), ("06L", 6), ("15", 6)]
)
def test_a_braking_report_speaks_of_its_own_runway_from_either_end(
    of: str | None, code: int
) -> None:
    assert surface(spots=[braked(Braking.POOR, "091152", runway=of)]).code == code


# --- runway state groups ---


@pytest.mark.parametrize(
    ("group", "code"),
    [
        pytest.param("R24L/590230", 3, id="WMO-306-wet-snow-2mm-friction-030"),
        pytest.param("R24L/590294", 4, id="wet snow 2 mm, medium to good"),
        pytest.param("R24L/590295", 5, id="wet snow 2 mm, good"),
        pytest.param("R24L/590495", 3, id="wet snow 4 mm, good"),
        pytest.param("R88/190055", 5, id="WMO-306-damp-all-runways"),
        pytest.param("R06R/790091", 1, id="ice, named from the other end"),
        pytest.param("R24L/090070", 6, id="dry, good friction"),
        pytest.param("R24L/090025", 1, id="dry, but no friction"),
        pytest.param("R24L/0900//", 6, id="dry"),
        pytest.param("R24L/CLRD70", 5, id="cleared"),
        pytest.param("R24L/CLRD//", 5, id="cleared, friction not given"),
        pytest.param("R24L/8900//", 3, id="compacted snow in mild air"),
        pytest.param("R24L/9900//", 0, id="frozen ruts"),
        pytest.param("R24L////39", 4, id="friction 0.39 alone"),
        pytest.param("R24L////36", 4, id="SNOW-PLAN-0.36"),
        pytest.param("R24L////35", 3, id="SNOW-PLAN-0.35"),
        pytest.param("R24L////30", 3, id="SNOW-PLAN-0.30"),
        pytest.param("R24L////29", 2, id="SNOW-PLAN-0.29"),
        pytest.param("R24L////26", 2, id="SNOW-PLAN-0.26"),
        pytest.param("R24L////25", 1, id="SNOW-PLAN-0.25"),
        pytest.param("R24L////40", 5, id="SNOW-PLAN-0.40"),
        pytest.param("R24L/290099", 5, id="wet, friction unreliable"),
        pytest.param("R24L/29//95", 2, id="wet of unknown depth"),
        pytest.param("R99/690595", 2, id="repeated slush 5 mm"),
        pytest.param("24590230", 6, id="eight figures, another runway"),
        pytest.param("88590230", 3, id="eight figures, all runways"),
        pytest.param("R15/790091", 6, id="another runway"),
    ],
)
def test_a_runway_state_group_is_never_better_than_its_worst_reading(group: str, code: int) -> None:
    group = group.replace("R24L////", "R24L/////") if "////" in group else group
    assert surface(f"{DRY} {group}").code == code


@pytest.mark.parametrize("group", ["R24L///////", "R24L////99"])
def test_a_state_group_that_tells_nothing_leaves_the_runway_unknown(group: str) -> None:
    group = group.replace("R24L////99", "R24L/////99")
    found = surface(f"{DRY} {group}")
    assert (found.code, found.at_best, found.basis) == (None, 6, ConditionBasis.RUNWAY_STATE)
    assert surface(f"{DRY} {group}", thirds=(5, 5, 5)).code == 5


def test_a_state_group_that_cannot_be_read_leaves_the_runway_unknown() -> None:
    found = surface(f"{DRY} R24/4//294")
    assert found.code is None
    assert "a runway state group of the report cannot be read" in found.because


@pytest.mark.parametrize(
    "group", ["R24L/5999//", "R24L/SNOCLO", "R/SNOCLO", "R88/SNOCLO", "BLACKAMB"]
)
def test_a_closed_runway_is_closed_whatever_else_is_said(group: str) -> None:
    found = surface(f"{DRY} {group}", thirds=(6, 6, 6))
    assert (found.closed, found.code, found.at_best) == (True, 0, 0)
    assert found.assumptions == ()


@pytest.mark.parametrize("colour", ["BLU", "RED", "BLU BLACKRED"])
def test_of_the_colours_black_alone_closes(colour: str) -> None:
    assert surface(f"{DRY} {colour}").closed == ("BLACK" in colour)


@pytest.mark.parametrize(
    ("runway", "other"),
    [("06R", "24L"), ("24L", "06R"), ("18", "36"), ("36C", "18C"), ("01", "19"), ("27T", "09T")],
)
def test_a_runway_has_two_names(runway: str, other: str) -> None:
    assert from_the_other_end(runway) == other


# --- the weather itself ---


def test_no_precipitation_is_taken_as_dry_and_listed_as_an_assumption() -> None:
    found = surface()
    assert (found.code, found.basis) == (6, ConditionBasis.NO_PRECIPITATION)
    assert found.assumptions == ("no precipitation reported or forecast: taken as dry",)


@pytest.mark.parametrize(
    ("body", "code", "at_best"),
    [
        pytest.param(WET, 5, 5, id="rain"),
        pytest.param(f"{DRY} RERA", 5, 5, id="recent rain"),
        pytest.param(WET.replace("-RA", "VCSH"), 5, 5, id="showers in the vicinity"),
        pytest.param(WET.replace("-RA", "TSRA"), 5, 5, id="thunderstorm with rain"),
        pytest.param(WET.replace("-RA", "TS"), 6, 6, id="dry thunderstorm"),
        pytest.param(WET.replace("-RA", "BR"), 6, 6, id="mist"),
        pytest.param(WET.replace("-RA", "+RA"), None, 5, id="heavy rain"),
        pytest.param(WET.replace("-RA", "-SN"), None, 5, id="snow"),
        pytest.param(WET.replace("-RA", "FZDZ"), None, 5, id="freezing drizzle"),
        pytest.param(WET.replace("-RA", "UP"), None, 5, id="unknown precipitation"),
        pytest.param(WET.replace("12/08", "M00/M01"), None, 5, id="rain in frost"),
        pytest.param(f"{DRY} RESN", None, 5, id="recent snow"),
        pytest.param(f"AUTO {WET.replace('-RA', '//')}", None, 6, id="weather missing"),
        pytest.param(f"AUTO {DRY} RMK PWINO", None, 6, id="FAA-AIM-PWINO"),
        pytest.param(f"AUTO {WET} RMK PWINO", None, 5, id="rain seen by half a sensor"),
        pytest.param("", None, 6, id="no report"),
    ],
)
def test_what_the_weather_alone_makes_of_a_runway(
    body: str, code: int | None, at_best: int
) -> None:
    found = surface(body)
    assert (found.code, found.at_best) == (code, at_best)


def test_rain_now_caps_a_code_reported_before_it() -> None:
    found = surface(WET, thirds=(6, 6, 5))
    assert [third.code for third in found.thirds] == [5, 5, 5]
    assert found.thirds[0].basis is ConditionBasis.WEATHER
    assert surface(WET.replace("-RA", "-SN"), thirds=(6, 6, 6)).code == 5
    assert surface(WET, thirds=(3, 3, 3)).code == 3


def test_precipitation_before_the_window_still_wets_it() -> None:
    weather = station(
        f"METAR XABC 091150Z {WET}", "TAF XABC 091100Z 0911/1011 24008KT CAVOK", as_of="091155"
    )
    later = conditions(
        weather,
        window=window("091400", "091415"),
        as_of=at("091155"),
        reading=Reading.PERSISTENT,
    )
    assert later.weather == ()
    landing_at = at("091400")
    found = runway_condition(
        runway="24L", weather=later, landing_at=landing_at, observation=weather.observation
    )
    assert found.code == 5
    assert runway_condition(runway="24L", weather=later, landing_at=landing_at).code == 6


def test_showers_that_the_reading_disregards_still_wet_the_runway() -> None:
    found = surface(body="", forecast="TEMPO 0911/0913 3000 SHRA")
    assert (found.code, found.basis) == (5, ConditionBasis.WEATHER)
    assert found.assumptions == ("showers are forecast at times: taken as wet",)
    assert surface(body="", forecast="TEMPO 0911/0913 3000 SQ").code == 6


# --- laws ---

bodies = st.sampled_from(
    (DRY, WET, FROST, f"{DRY} R24L/590230", f"{DRY} R24L/CLRD70", f"{DRY} R88/SNOCLO", "")
)
thirds = st.one_of(st.none(), st.tuples(*(st.integers(0, 6) for _ in range(3))))
brakings = st.one_of(st.none(), st.sampled_from(Braking))
contaminants = st.one_of(st.none(), st.sampled_from(Contaminant))


@given(bodies, thirds, contaminants, brakings)
def test_the_code_is_that_of_the_worst_third_and_never_above_what_is_known(
    body: str,
    codes: tuple[int, int, int] | None,
    contaminant: Contaminant | None,
    braking: Braking | None,
) -> None:
    found = surface(body, thirds=codes, contaminant=contaminant, braking=braking)
    known = [third.code for third in found.thirds]
    assert found.code == (
        None if None in known else min(code for code in known if code is not None)
    )
    assert all(third.code is None or third.code <= third.at_best for third in found.thirds)
    assert found.code is None or found.code <= found.at_best
    assert found.because
    for given_codes in [codes] if codes else []:
        assert all(
            third.code is not None and third.code <= code
            for third, code in zip(found.thirds, given_codes, strict=True)
        )


@given(bodies, thirds, contaminants, st.sampled_from(list(Braking)[1:]))
def test_more_evidence_against_a_runway_never_makes_it_better(
    body: str,
    codes: tuple[int, int, int] | None,
    contaminant: Contaminant | None,
    worse: Braking,
) -> None:
    before = surface(body, thirds=codes, contaminant=contaminant)
    after = surface(body, thirds=codes, contaminant=contaminant, braking=worse)
    assert after.code is not None
    assert before.code is None or after.code <= before.code
    assert after.at_best <= before.at_best
