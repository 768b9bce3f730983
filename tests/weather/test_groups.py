"""One group at a time: every form, its bounds and units, and what must not be understood."""

from __future__ import annotations

import pytest

from decision import units
from decision.quantities import Bound
from decision.weather import CeilingState, Element
from decision.weather.groups import GroupMark, Marker, Recent, read_group
from decision.weather.report import (
    CloudLayer,
    Pressure,
    RunwayState,
    RunwayVisualRange,
    Temperature,
    Visibility,
    WeatherGroup,
    Wind,
    WindShear,
)
from tests.weather.builders import observed, read


def _ft(feet: float) -> float:
    return units.ft_to_m(float(feet))


@pytest.mark.parametrize(
    ("token", "expected"),
    [
        pytest.param("13008KT", (130, False, 8, "=", None, "="), id="FAA-AIM-7-1-29-a"),
        pytest.param("08032G45KT", (80, False, 32, "=", 45, "="), id="FAA-AIM-7-1-29-b"),
        pytest.param("VRB04KT", (None, True, 4, "=", None, "="), id="FAA-AIM-7-1-29-c"),
        pytest.param("00000KT", (0, False, 0, "=", None, "="), id="FAA-AIM-7-1-29-d"),
        pytest.param("210103G130KT", (210, False, 103, "=", 130, "="), id="FAA-AIM-7-1-29-e"),
        pytest.param(
            "24005MPS", (240, False, units.mps_to_kt(5.0), "=", None, "="), id="WMO-306-mps"
        ),
        pytest.param(
            "24036KMH", (240, False, units.kmh_to_kt(36.0), "=", None, "="), id="WMO-306-kmh"
        ),
        pytest.param("240P99KT", (240, False, 99, ">", None, "="), id="WMO-306-p99"),
        pytest.param("24050GP99KT", (240, False, 50, "=", 99, ">"), id="WMO-306-gust-p99"),
        pytest.param(
            "VRB05G10MPS",
            (None, True, units.mps_to_kt(5.0), "=", units.mps_to_kt(10.0), "="),
            id="gust-mps",
        ),
        pytest.param("///28KT", (None, False, 28, "=", None, "="), id="WMO-306-no-direction"),
        pytest.param("240//KT", (240, False, None, "unknown", None, "="), id="WMO-306-no-speed"),
        pytest.param("24010G//KT", (240, False, 10, "=", None, "unknown"), id="WMO-306-no-gust"),
    ],
)
def test_wind_group_keeps_direction_speed_gust_and_bounds(
    token: str, expected: tuple[object, ...]
) -> None:
    wind = read_group(token)

    assert isinstance(wind, Wind)
    assert wind.raw == token
    assert (
        wind.from_true_deg,
        wind.variable,
        wind.speed_kt,
        wind.speed_bound.value,
        wind.gust_kt,
        wind.gust_bound.value,
    ) == expected


@pytest.mark.parametrize("token", ["24005", "36105KT", "2405KT", "VBR03KT", "180ABKT", "24005KTS"])
def test_a_wind_that_is_almost_right_is_not_read(token: str) -> None:
    assert read_group(token) is None
    assert Element.WIND in observed(f"{token} 9999 FEW040 10/05 Q1013").unknown


@pytest.mark.parametrize(
    ("token", "metres", "bound"),
    [
        pytest.param("7SM", 11_265.4, "=", id="FAA-AIM-7-1-29-7"),
        pytest.param("15SM", 24_140.2, "=", id="FAA-AIM-7-1-29-15"),
        pytest.param("1/2SM", 804.7, "=", id="FAA-AIM-7-1-29-half"),
        pytest.param("M1/4SM", 402.3, "<", id="FAA-AIM-7-1-29-m"),
        pytest.param("P6SM", 9656.1, ">", id="FAA-AIM-7-1-29-p"),
        pytest.param("5/8SM", 1005.8, "=", id="FAA-AIM-7-1-29-five-eighths"),
        pytest.param("1_1/2SM", 2414.0, "=", id="FAA-AIM-7-1-29-mixed"),
        pytest.param("11/2SM", 2414.0, "=", id="joined-one-and-a-half"),
        pytest.param("21/4SM", 3621.0, "=", id="joined-two-and-a-quarter"),
        pytest.param("0SM", 0.0, "=", id="zero-miles"),
        pytest.param("9999", 10_000.0, ">=", id="WMO-306-9999"),
        pytest.param("9999NDV", 10_000.0, ">=", id="WMO-306-ndv"),
        pytest.param("0000", 0.0, "<", id="WMO-306-0000"),
        pytest.param("0350", 350.0, "=", id="WMO-306-0350"),
        pytest.param("10KM", 10_000.0, "=", id="kilometres"),
    ],
)
def test_visibility_group_keeps_figure_and_bound(token: str, metres: float, bound: str) -> None:
    visibility = read_group(token)

    assert isinstance(visibility, Visibility)
    assert visibility.metres == pytest.approx(metres, abs=0.05)
    assert visibility.bound.value == bound


@pytest.mark.parametrize("token", ["////", "////SM", "////NDV"])
def test_missing_visibility_is_unknown_and_never_ten_kilometres(token: str) -> None:
    elements = observed(f"24005KT {token} FEW040 10/05 Q1013")

    assert elements.visibility is not None
    assert elements.visibility.metres is None
    assert elements.visibility.bound is Bound.UNKNOWN
    assert Element.VISIBILITY in elements.unknown


@pytest.mark.parametrize(
    "token", ["99999", "1/0SM", "0/4SM", "4/2SM", "222/1SM", "5MILES", "M0400"]
)
def test_a_visibility_that_is_almost_right_is_not_read(token: str) -> None:
    assert read_group(token) is None
    assert Element.VISIBILITY in observed(f"24005KT {token} FEW040 10/05 Q1013").unknown


def test_directional_minimum_is_kept_beside_the_prevailing_visibility() -> None:
    visibility = observed("24005KT 3000 1200NE BR BKN005 10/05 Q1013").visibility

    assert visibility is not None
    assert (visibility.metres, visibility.minimum_metres) == (3000.0, 1200.0)
    assert (visibility.minimum_direction, visibility.worst_metres) == ("NE", 1200.0)
    assert visibility.raw == "3000 1200NE"


def test_the_least_of_several_directional_minima_counts() -> None:
    visibility = observed("24005KT 4000 2000NE 1500S 3000W BR BKN005 10/05 Q1013").visibility

    assert visibility is not None
    assert visibility.worst_metres == 1500.0


def test_a_second_bare_visibility_counts_as_the_minimum() -> None:
    report = read("METAR XABC 251150Z 24005KT 8000 3800 BR BKN005 10/05 Q1013")

    assert report.elements is not None
    assert report.elements.visibility is not None
    assert report.elements.visibility.worst_metres == 3800.0
    assert any("second visibility" in problem for problem in report.problems)


@pytest.mark.parametrize(
    ("token", "expected"),
    [
        pytest.param(
            "R32L/1200FT", ("32L", _ft(1200), "=", None, None, None), id="FAA-AIM-7-1-29-a"
        ),
        pytest.param(
            "R27R/M1000V4000FT",
            ("27R", _ft(1000), "<", _ft(4000), "=", None),
            id="FAA-AIM-7-1-29-b",
        ),
        pytest.param("R12/1000U", ("12", 1000, "=", None, None, "U"), id="ICAO-ANNEX3"),
        pytest.param("R15/0600VP1500D", ("15", 600, "=", 1500, ">", "D"), id="WMO-306-variation"),
        pytest.param("R15/M0050D", ("15", 50, "<", None, None, "D"), id="WMO-306-m"),
        pytest.param("R04L/P1500N", ("04L", 1500, ">", None, None, "N"), id="WMO-306-p"),
        pytest.param(
            "R35L/3500VP6000FT/D", ("35L", _ft(3500), "=", _ft(6000), ">", "D"), id="stroke"
        ),
        pytest.param(
            "R24R/1400V2400FT/", ("24R", _ft(1400), "=", _ft(2400), "=", None), id="open-stroke"
        ),
        pytest.param("R27/////", ("27", None, "unknown", None, None, None), id="WMO-306-missing"),
    ],
)
def test_runway_visual_range_keeps_bounds_variation_and_tendency(
    token: str, expected: tuple[object, ...]
) -> None:
    rvr = read_group(token)

    assert isinstance(rvr, RunwayVisualRange)
    assert (
        rvr.runway,
        rvr.low_m,
        rvr.low_bound.value,
        rvr.high_m,
        None if rvr.high_bound is None else rvr.high_bound.value,
        rvr.tendency,
    ) == expected


@pytest.mark.parametrize("token", ["R27/////", "RVRNO"])
def test_missing_runway_visual_range_is_unknown(token: str) -> None:
    assert Element.RVR in observed(f"24005KT 0300 {token} FG VV001 10/10 Q1013").unknown


@pytest.mark.parametrize(
    ("token", "intensity", "descriptors", "phenomena"),
    [
        pytest.param("TSRA", "", ("TS",), ("RA",), id="FAA-AIM-7-1-29-a"),
        pytest.param("+SN", "+", (), ("SN",), id="FAA-AIM-7-1-29-b"),
        pytest.param("-RA", "-", (), ("RA",), id="FAA-AIM-7-1-29-c"),
        pytest.param("BRHZ", "", (), ("BR", "HZ"), id="FAA-AIM-7-1-29-d"),
        pytest.param("FZDZ", "", ("FZ",), ("DZ",), id="FAA-AIM-7-1-29-e"),
        pytest.param("VCSH", "VC", ("SH",), (), id="FAA-AIM-7-1-29-f"),
        pytest.param("+SHRASNPL", "+", ("SH",), ("RA", "SN", "PL"), id="FAA-AIM-7-1-29-g"),
        pytest.param("-FZRAPL", "-", ("FZ",), ("RA", "PL"), id="WMO-306-fzrapl"),
        pytest.param("VCTS", "VC", ("TS",), (), id="WMO-306-vcts"),
        pytest.param("-TSRA/RA", "", ("TS",), ("RA",), id="two-with-a-stroke"),
        pytest.param("DU/BLDU", "", ("BL",), ("DU",), id="stroke-without-intensity"),
    ],
)
def test_weather_group_keeps_intensity_descriptors_and_phenomena(
    token: str, intensity: str, descriptors: tuple[str, ...], phenomena: tuple[str, ...]
) -> None:
    weather = read_group(token)

    assert isinstance(weather, WeatherGroup)
    assert (weather.intensity, weather.descriptors, weather.phenomena) == (
        intensity,
        descriptors,
        phenomena,
    )


@pytest.mark.parametrize("token", ["++RA", "RA+", "+VCRA", "SNSH", "RASH/TS", "TSXX"])
def test_weather_that_is_almost_right_leaves_the_weather_unknown(token: str) -> None:
    assert read_group(token) is None
    assert Element.WEATHER in observed(f"24005KT 9999 {token} FEW040 10/05 Q1013").unknown


def test_thunderstorm_and_freezing_precipitation_are_told_apart_from_freezing_fog() -> None:
    weather = observed("24005KT 0300 -FZRA FZFG VCTS OVC002 M01/M01 Q1013").weather

    assert weather is not None
    assert [w.freezing_precipitation for w in weather] == [True, False, False]
    assert [w.thunderstorm for w in weather] == [False, False, True]


def test_missing_weather_of_an_automatic_station_is_unknown() -> None:
    assert Element.WEATHER in observed("24005KT 9999 // FEW040 10/05 Q1013").unknown


def test_recent_weather_is_not_present_weather() -> None:
    elements = observed("24005KT 9999 FEW040 10/05 Q1013 RETSRA RE//")

    assert elements.weather == ()
    assert [weather.raw for weather in elements.recent] == ["RETSRA"]
    assert isinstance(read_group("RETSRA"), Recent)


@pytest.mark.parametrize(
    ("token", "amount", "base_ft", "convective", "type_unknown"),
    [
        pytest.param("SCT025TCU", "SCT", 2500, "TCU", False, id="FAA-AIM-7-1-29-tcu"),
        pytest.param("VV006", "VV", 600, None, False, id="FAA-AIM-7-1-29-vv"),
        pytest.param("BKN000", "BKN", 0, None, False, id="FAA-AIM-7-1-29-surface"),
        pytest.param("VV///", "VV", None, None, False, id="WMO-306-vv-missing"),
        pytest.param("BKN///", "BKN", None, None, False, id="WMO-306-height-missing"),
        pytest.param("///015", None, 1500, None, False, id="WMO-306-amount-missing"),
        pytest.param("FEW///CB", "FEW", None, "CB", False, id="WMO-306-cb-height-missing"),
        pytest.param("//////CB", None, None, "CB", False, id="WMO-306-cb-alone"),
        pytest.param("///CB", None, None, "CB", False, id="cb-short"),
        pytest.param("BKN038///", "BKN", 3800, None, True, id="WMO-306-type-missing"),
        pytest.param("SCT045AC", "SCT", 4500, None, False, id="cloud-genus"),
    ],
)
def test_cloud_group_keeps_amount_base_and_convection(
    token: str,
    amount: str | None,
    base_ft: float | None,
    convective: str | None,
    type_unknown: bool,
) -> None:
    layer = read_group(token)

    assert isinstance(layer, CloudLayer)
    assert (layer.amount, layer.base_ft) == (amount, base_ft)
    assert (layer.convective, layer.type_unknown) == (convective, type_unknown)


@pytest.mark.parametrize(
    ("clouds", "state", "feet"),
    [
        pytest.param("SCT025TCU BKN080 BKN250", "value", 8000, id="FAA-AIM-7-1-29-a"),
        pytest.param("SCT008 OVC012CB", "value", 1200, id="FAA-AIM-7-1-29-b"),
        pytest.param("VV006", "value", 600, id="FAA-AIM-7-1-29-c"),
        pytest.param("BKN000", "value", 0, id="FAA-AIM-7-1-29-d"),
        pytest.param("FEW005 SCT010", "none", None, id="no-layer-of-ceiling-amount"),
        pytest.param("NSC", "none", None, id="nsc"),
        pytest.param("NCD", "none", None, id="ncd"),
        pytest.param("SKC", "none", None, id="skc"),
        pytest.param("CLR", "none", None, id="clr"),
        pytest.param("", "unknown", None, id="no-group"),
        pytest.param("//////", "unknown", None, id="missing"),
        pytest.param("///", "unknown", None, id="missing-short"),
        pytest.param("VV///", "unknown", None, id="vertical-visibility-missing"),
        pytest.param("BKN///", "unknown", None, id="height-missing"),
        pytest.param("BKN/// OVC010", "unknown", None, id="height-missing-below-another"),
        pytest.param("OVC010 BKN///", "unknown", None, id="height-missing-after-another"),
        pytest.param("///010 OVC030", "unknown", None, id="amount-missing-below"),
        pytest.param("///010", "unknown", None, id="amount-missing-alone"),
        pytest.param("OVC010 ///030", "value", 1000, id="amount-missing-above"),
        pytest.param("FEW/// SCT010", "none", None, id="no-ceiling-amount-without-height"),
        pytest.param("BKN030 //////CB", "value", 3000, id="cb-beside-measured-layers"),
        pytest.param("//////CB", "unknown", None, id="cb-alone"),
        pytest.param("//////CB //////TCU", "unknown", None, id="cb-and-tcu-alone"),
        pytest.param("BKN01", "unknown", None, id="unreadable"),
        pytest.param("FEW030 BKN01", "unknown", None, id="unreadable-beside-another"),
        pytest.param("KN026", "unknown", None, id="letter-lost"),
        pytest.param("OVC015XX", "unknown", None, id="letters-added"),
    ],
)
def test_ceiling_is_a_value_none_or_unknown(clouds: str, state: str, feet: float | None) -> None:
    elements = observed(f"24005KT 9999 {clouds} 10/05 Q1013")

    assert elements.ceiling is not None
    assert (elements.ceiling.state.value, elements.ceiling.feet) == (state, feet)
    assert (Element.CLOUD in elements.unknown) == (state == "unknown")


@pytest.mark.parametrize(
    ("token", "air", "dew"),
    [
        pytest.param("15/08", 15, 8, id="FAA-AIM-7-1-29-a"),
        pytest.param("00/M02", 0, -2, id="FAA-AIM-7-1-29-b"),
        pytest.param("M05/", -5, None, id="FAA-AIM-7-1-29-c"),
        pytest.param("35///", 35, None, id="dew-point-missing"),
        pytest.param("/////", None, None, id="both-missing"),
        pytest.param("XX/05", None, 5, id="air-missing"),
    ],
)
def test_temperature_group_keeps_what_is_given(
    token: str, air: float | None, dew: float | None
) -> None:
    temperature = read_group(token)

    assert isinstance(temperature, Temperature)
    assert (temperature.temperature_degc, temperature.dewpoint_degc) == (air, dew)
    assert (Element.TEMPERATURE in observed(f"24005KT 9999 NSC {token} Q1013").unknown) == (
        air is None
    )


@pytest.mark.parametrize(
    ("token", "qnh_hpa", "unit"),
    [
        pytest.param("A2995", 1014.2, "inHg", id="FAA-AIM-7-1-29"),
        pytest.param("Q1013", 1013.0, "hPa", id="WMO-306"),
        pytest.param("QNH2981INS", 1009.5, "inHg", id="forecast-inches"),
        pytest.param("Q////", None, "hPa", id="missing"),
        pytest.param("A////", None, "inHg", id="missing-inches"),
        pytest.param("Q3386", None, "hPa", id="impossible"),
    ],
)
def test_pressure_group_is_hectopascals_in_a_sane_range(
    token: str, qnh_hpa: float | None, unit: str
) -> None:
    pressure = read_group(token)

    assert isinstance(pressure, Pressure)
    assert pressure.unit_reported == unit
    assert pressure.qnh_hpa == (None if qnh_hpa is None else pytest.approx(qnh_hpa, abs=0.05))


@pytest.mark.parametrize(
    ("groups", "qnh_hpa"),
    [
        ("Q1019 A2994", None),
        ("A2994 Q1019", None),
        ("Q1014 A2995", 1014.0),
        ("A2995 Q1014", 1014.0),
        ("Q//// A2995", 1014.2),
        ("A2995 Q////", 1014.2),
    ],
)
def test_two_pressures_must_agree_and_hectopascals_stand(
    groups: str, qnh_hpa: float | None
) -> None:
    elements = observed(f"24005KT 9999 NSC 10/05 {groups}")

    assert elements.pressure is not None
    assert elements.pressure.qnh_hpa == (
        None if qnh_hpa is None else pytest.approx(qnh_hpa, abs=0.05)
    )
    assert (Element.PRESSURE in elements.unknown) == (qnh_hpa is None or "/" in groups)


@pytest.mark.parametrize(
    ("text", "runway"),
    [
        ("WS R24L", "24L"),
        ("WS RWY07C", "07C"),
        ("WS ALL RWY", None),
        ("WS RWYAC", None),
    ],
)
def test_observed_wind_shear_names_its_runway_or_concerns_all(
    text: str, runway: str | None
) -> None:
    elements = observed(f"24005KT 9999 NSC 10/05 Q1013 {text}")

    assert elements.wind_shear == (WindShear(runway=runway, raw=text),)


@pytest.mark.parametrize(
    ("token", "expected"),
    [
        pytest.param(
            "R24L/290050",
            ("24L", "wet", 100.0, 0.0, 0.5, None, False, False, False),
            id="WMO-306-r-form",
        ),
        pytest.param(
            "R88/190055", (None, "damp", 100.0, 0.0, 0.55, None, False, False, False), id="all"
        ),
        pytest.param(
            "R99/421594",
            (None, "dry snow", 25.0, 15.0, None, "medium to good", False, False, True),
            id="repeated",
        ),
        pytest.param(
            "R27/CLRD//", ("27", None, None, None, None, None, True, False, False), id="cleared"
        ),
        pytest.param(
            "R27/CLRD70", ("27", None, None, None, 0.7, None, True, False, False), id="cleared-70"
        ),
        pytest.param(
            "24CLRD95", ("24", None, None, None, None, "good", True, False, False), id="old-cleared"
        ),
        pytest.param(
            "19520250",
            ("19", "wet snow", 25.0, 2.0, 0.5, None, False, False, False),
            id="eight-figures",
        ),
        pytest.param(
            "69520250",
            ("19R", "wet snow", 25.0, 2.0, 0.5, None, False, False, False),
            id="eight-figures-right",
        ),
        pytest.param(
            "R06/7///99",
            ("06", "ice", None, None, None, "unreliable", False, False, False),
            id="unreliable",
        ),
        pytest.param(
            "R06/699991",
            ("06", "slush", 100.0, None, None, "poor", False, True, False),
            id="not-operational",
        ),
        pytest.param(
            "R/SNOCLO", (None, None, None, None, None, None, False, True, False), id="snoclo"
        ),
        pytest.param(
            "R21/SNOCLO", ("21", None, None, None, None, None, False, True, False), id="snoclo-one"
        ),
        pytest.param(
            "R88///////", (None, None, None, None, None, None, False, False, False), id="missing"
        ),
        pytest.param(
            "R16/599494",
            ("16", "wet snow", 100.0, 200.0, None, "medium to good", False, False, False),
            id="centimetres",
        ),
    ],
)
def test_runway_state_is_read_by_the_code_tables(token: str, expected: tuple[object, ...]) -> None:
    state = read_group(token)

    assert isinstance(state, RunwayState)
    assert (
        state.runway,
        state.deposit,
        state.extent_percent,
        state.depth_mm,
        state.friction_coefficient,
        state.braking_action,
        state.cleared,
        state.closed,
        state.repeated,
    ) == expected


@pytest.mark.parametrize(
    ("token", "from_true_deg", "speed_kt"),
    [
        pytest.param("WS020/24045KT", 240.0, 45.0, id="FAA-AIM-7-1-29-ws"),
        pytest.param("WS020/VRB45KT", None, 45.0, id="variable"),
        pytest.param("WS020/24020MPS", 240.0, units.mps_to_kt(20.0), id="mps"),
        pytest.param("WS020/24080KMH", 240.0, units.kmh_to_kt(80.0), id="kmh"),
    ],
)
def test_forecast_wind_shear_keeps_height_and_wind(
    token: str, from_true_deg: float | None, speed_kt: float
) -> None:
    assert read_group(token) == WindShear(
        height_ft=2000.0, from_true_deg=from_true_deg, speed_kt=speed_kt, raw=token
    )


@pytest.mark.parametrize(
    ("token", "runway", "cleared", "closed", "repeated"),
    [
        ("SNOCLO", None, False, True, False),
        ("88SNOCLO", None, False, True, False),
        ("88CLRD//", None, True, False, False),
        ("99CLRD70", None, True, False, True),
        ("R99/CLRD//", None, True, False, True),
        ("R88/CLRD95", None, True, False, False),
        ("99520250", None, False, False, True),
    ],
)
def test_states_of_all_runways_and_of_the_last_group_in_every_form(
    token: str, runway: str | None, cleared: bool, closed: bool, repeated: bool
) -> None:
    state = read_group(token)

    assert isinstance(state, RunwayState)
    assert (state.runway, state.cleared, state.closed, state.repeated) == (
        runway, cleared, closed, repeated,
    )  # fmt: skip
    assert observed(f"24005KT 9999 NSC 10/05 Q1013 {token}").unknown == frozenset()


def test_forty_centimetres_is_a_lower_bound_of_the_depth() -> None:
    state = read_group("R16/599894")

    assert isinstance(state, RunwayState)
    assert (state.depth_mm, state.depth_at_least) == (400.0, True)


@pytest.mark.parametrize(
    "token", ["R88/60D", "R09/39A/37", "RAB/390037", "R23X/450235", "R16R//50"]
)
def test_a_runway_state_that_is_almost_right_is_not_read(token: str) -> None:
    report = read(f"METAR XABC 251150Z 24005KT 9999 NSC 10/05 Q1013 {token}")

    assert report.unread == (token,)


@pytest.mark.parametrize(
    "token",
    [
        "BLU",
        "BLU+",
        "WHT",
        "GRN",
        "YLO2",
        "AMB",
        "RED",
        "BLACK",
        "BLACKWHT",
        "BLU/WHT",
        "RE//",
        "///",
        "W12/S4",
        "W///S4",
        "WM01/S9",
        "W15/H10",
        "W15/H///",
    ],
)
def test_colour_and_sea_states_are_read_and_set_aside(token: str) -> None:
    elements = observed(f"24005KT 9999 NSC 10/05 Q1013 {token}")

    assert elements.set_aside == (token,)
    assert elements.unknown == frozenset()


@pytest.mark.parametrize(
    ("token", "mark"),
    [("CAVOK", GroupMark.CAVOK), ("NSW", GroupMark.NO_WEATHER), ("//", GroupMark.WEATHER_MISSING)],
)
def test_words_without_a_figure_are_marks(token: str, mark: GroupMark) -> None:
    assert read_group(token) == Marker(mark, token)


def test_cavok_says_ten_kilometres_no_ceiling_and_no_weather() -> None:
    elements = observed("24005KT CAVOK 10/05 Q1013")

    assert elements.cavok
    assert elements.visibility is not None
    assert (elements.visibility.metres, elements.visibility.bound) == (10_000.0, Bound.AT_LEAST)
    assert elements.ceiling is not None
    assert (elements.ceiling.state, elements.ceiling.raw) == (CeilingState.NONE, "CAVOK")
    assert (elements.weather, elements.clouds, elements.unknown) == ((), (), frozenset())


@pytest.mark.parametrize("against", ["3000", "TSRA", "BKN004"])
def test_cavok_beside_a_contradiction_is_not_credited(against: str) -> None:
    elements = observed(f"24005KT CAVOK {against} 10/05 Q1013")

    assert not elements.cavok
    assert len({Element.VISIBILITY, Element.CLOUD, Element.WEATHER} & elements.unknown) == 2


def test_two_different_winds_make_the_wind_unknown() -> None:
    report = read("METAR XABC 251150Z 27008KT 31010KT 9999 NSC 10/05 Q1013")

    assert report.elements is not None
    assert report.elements.wind is not None
    assert report.elements.wind.speed_kt is None
    assert Element.WIND in report.elements.unknown
    assert report.unread == ("31010KT",)


def test_the_same_wind_twice_is_one_wind() -> None:
    report = read("METAR XABC 251150Z 27008KT 27008KT 9999 NSC 10/05 Q1013")

    assert report.elements is not None
    assert report.elements.wind is not None
    assert report.elements.wind.speed_kt == 8.0
    assert report.unread == ()


@pytest.mark.parametrize(
    "groups", ["27008KT 200V310 250V300", "200V310", "27008KT 400V500", "27020G10KT"]
)
def test_a_doubtful_wind_is_named_as_a_problem(groups: str) -> None:
    assert read(f"METAR XABC 251150Z {groups} 9999 NSC 10/05 Q1013").problems


def test_miles_beside_metres_make_the_visibility_unknown() -> None:
    assert Element.VISIBILITY in observed("27008KT 3000 2SM NSC 10/05 Q1013").unknown


def test_a_blank_second_visibility_makes_the_visibility_unknown() -> None:
    assert Element.VISIBILITY in observed("27008KT 3000 //// NSC 10/05 Q1013").unknown


def test_two_different_temperatures_make_the_temperature_unknown() -> None:
    elements = observed("27008KT 9999 NSC 10/05 11/05 Q1013")

    assert elements.temperature is None
    assert Element.TEMPERATURE in elements.unknown


@pytest.mark.parametrize("token", ["+", "-", "VC", "RE", "RE+"])
def test_an_intensity_without_weather_is_no_group(token: str) -> None:
    assert read_group(token) is None
    assert Element.WEATHER in observed(f"24005KT 9999 {token} NSC 10/05 Q1013").unknown
