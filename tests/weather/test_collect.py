from __future__ import annotations

from itertools import permutations

import pytest

from decision.weather import decode
from decision.weather.collect import StationWeather, collect
from tests.changing import replace
from tests.weather.conditions_builders import at, station

OLD = "METAR XABC 091120Z 24008KT 9999 SCT030 12/08 Q1013"
NEW = "METAR XABC 091150Z 24008KT 8000 SCT030 12/08 Q1013"
SPECI = "SPECI XABC 091150Z 24008KT 3000 BR SCT030 12/08 Q1013"
CORRECTED = "METAR COR XABC 091150Z 24008KT 6000 SCT030 12/08 Q1013"
TAF = "TAF XABC 091100Z 0912/1012 24008KT 9999 SCT030"
EARLIER_TAF = "TAF XABC 090500Z 0906/1006 24008KT 6000 SCT030"
AMENDED = "TAF AMD XABC 091100Z 0912/1012 24008KT 3000 BR"
AS_OF = "091155"


WORSE = "METAR XABC 091150Z 26005KT 0100 FG VV000 08/08 Q1013"


def used(weather: StationWeather) -> tuple[str | None, str | None, str | None]:
    return (
        weather.observation.raw if weather.observation else None,
        weather.forecast.raw if weather.forecast else None,
        weather.preceding.raw if weather.preceding else None,
    )


def reasons(weather: StationWeather) -> dict[str, str]:
    return {each.raw: each.reason for each in weather.set_aside}


def test_the_order_of_reports_does_not_matter() -> None:
    reports = [decode(raw, received_at=at(AS_OF)) for raw in (OLD, NEW, SPECI, CORRECTED, TAF)]
    seen = {collect(each, station="XABC", as_of=at(AS_OF)) for each in permutations(reports)}
    assert len(seen) == 1


@pytest.mark.parametrize(
    ("raws", "winner"),
    [
        pytest.param((OLD, NEW), NEW, id="newest by issue"),
        pytest.param((NEW, CORRECTED), CORRECTED, id="correction over plain"),
        pytest.param((NEW, SPECI), SPECI, id="special over routine"),
        pytest.param((CORRECTED, SPECI), CORRECTED, id="correction over special"),
        pytest.param((NEW, NEW), NEW, id="the same text twice is one report"),
    ],
)
def test_the_observation_in_force(raws: tuple[str, ...], winner: str) -> None:
    weather = station(*raws, as_of=AS_OF)
    assert used(weather)[0] == winner
    assert set(reasons(weather)) == set(raws) - {winner}


def test_an_amendment_goes_before_a_forecast_of_the_same_time() -> None:
    weather = station(TAF, AMENDED, as_of="091205")
    assert used(weather)[1] == AMENDED
    assert reasons(weather) == {TAF: "another report of the same time goes before it"}


def test_a_superseded_report_names_the_one_that_superseded_it() -> None:
    assert reasons(station(OLD, NEW, as_of=AS_OF)) == {OLD: "superseded by the report of 091150Z"}


@pytest.mark.parametrize(
    ("as_of", "used_at_all"),
    [("091135", True), ("091134", False)],
    ids=["15 min ahead is a clock", "16 min ahead is a wrong date"],
)
def test_a_report_from_the_future_is_ignored_and_listed(as_of: str, used_at_all: bool) -> None:
    report = decode(NEW, received_at=at("091155"))
    weather = collect([report], station="XABC", as_of=at(as_of))
    assert (weather.observation is not None) is used_at_all
    assert ("later than the present time" in "".join(reasons(weather).values())) is not used_at_all


def test_a_forecast_from_the_future_cancels_nothing() -> None:
    cancelling = decode("TAF AMD XABC 091150Z 0912/1012 CNL", received_at=at("091200"))
    forecast = decode(TAF, received_at=at("091200"))
    early = collect([forecast, cancelling], station="XABC", as_of=at("091130"))
    assert early.forecast == forecast
    later = collect([forecast, cancelling], station="XABC", as_of=at("091200"))
    assert later.forecast is None


@pytest.mark.parametrize(("as_of", "expired"), [("101159", False), ("101200", True)])
def test_an_expired_forecast_is_none(as_of: str, expired: bool) -> None:
    weather = station(TAF, as_of=as_of)
    assert (weather.forecast is None) is expired
    assert reasons(weather) == ({TAF: "expired at 101200Z"} if expired else {})


@pytest.mark.parametrize("raw", ["METAR XABC 091150Z NIL", "TAF XABC 091100Z NIL"])
def test_nil_is_no_data_and_listed(raw: str) -> None:
    weather = station(raw, as_of=AS_OF)
    assert used(weather) == (None, None, None)
    assert reasons(weather) == {raw: "NIL: the station sent no data"}


def test_a_nil_report_leaves_the_one_before_it() -> None:
    assert used(station(OLD, "METAR XABC 091150Z NIL", as_of=AS_OF))[0] == OLD


def test_a_cancellation_is_no_data_and_takes_earlier_forecasts_with_it() -> None:
    cancelling = "TAF AMD XABC 091130Z 0912/1012 CNL"
    weather = station(EARLIER_TAF, TAF, cancelling, as_of=AS_OF)
    assert used(weather) == (None, None, None)
    assert reasons(weather) == {
        EARLIER_TAF: "cancelled by the report of 091130Z",
        TAF: "cancelled by the report of 091130Z",
        cancelling: "cancels the forecast: no data",
    }


def test_a_forecast_after_a_cancellation_stands() -> None:
    cancelling = "TAF AMD XABC 091030Z 0912/1012 CNL"
    assert used(station(cancelling, TAF, as_of=AS_OF))[1] == TAF


def test_the_forecast_before_runs_until_the_newest_begins() -> None:
    assert used(station(EARLIER_TAF, TAF, as_of=AS_OF)) == (None, TAF, EARLIER_TAF)
    later = station(EARLIER_TAF, TAF, as_of="091205")
    assert used(later) == (None, TAF, None)
    assert reasons(later) == {EARLIER_TAF: "superseded by the report of 091100Z"}


def test_a_forecast_without_readable_validity_is_none() -> None:
    report = replace(decode(TAF, received_at=at(AS_OF)), valid=None)
    weather = collect([report], station="XABC", as_of=at(AS_OF))
    assert weather.forecast is None
    assert reasons(weather) == {TAF: "its validity could not be read"}


def test_an_observation_without_elements_is_none() -> None:
    report = replace(decode(NEW, received_at=at(AS_OF)), elements=None)
    weather = collect([report], station="XABC", as_of=at(AS_OF))
    assert weather.observation is None
    assert reasons(weather) == {NEW: "no element could be read"}


def test_reports_of_other_stations_are_none_of_its_business() -> None:
    weather = station(NEW, "METAR XDEF 091155Z 24008KT 0200 FG VV001 12/12 Q1013", as_of=AS_OF)
    assert used(weather)[0] == NEW
    assert weather.set_aside == ()


def test_equal_stations_hash_alike() -> None:
    first, second = (station(OLD, NEW, TAF, as_of=AS_OF) for _ in range(2))
    assert first is not second
    assert first == second
    assert hash(first) == hash(second)


# --- reports that differ ---


@pytest.mark.parametrize(
    ("first", "second", "together"),
    [
        pytest.param(NEW, WORSE, True, id="two METAR of one minute"),
        pytest.param(SPECI, WORSE.replace("METAR", "SPECI"), True, id="two SPECI"),
        pytest.param(
            CORRECTED, CORRECTED.replace("6000", "0600 FG"), True, id="two corrections of it"
        ),
        pytest.param(TAF, TAF.replace("9999", "0300 FG"), True, id="two TAF"),
        pytest.param(NEW, f"{NEW} NOSIG", True, id="a trend more"),
        pytest.param(NEW, f"{NEW} RMK AO2 CIG 002V008", True, id="a remark more"),
        pytest.param(NEW, CORRECTED, False, id="a correction"),
        pytest.param(TAF, AMENDED, False, id="an amendment"),
        pytest.param(TAF, TAF.replace("TAF", "TAF COR"), False, id="a corrected TAF"),
        pytest.param(WORSE, SPECI, False, id="another kind"),
        pytest.param(OLD, WORSE, False, id="another minute"),
        pytest.param(
            NEW.replace("091150Z", "091150Z CCA"),
            WORSE.replace("091150Z", "091150Z CCB"),
            False,
            id="the second correction after the first",
        ),
        pytest.param(
            NEW.replace("091150Z", "091150Z CCA"),
            WORSE.replace("091150Z", "091150Z CCA"),
            True,
            id="two first corrections",
        ),
        pytest.param(NEW, NEW, False, id="one text twice"),
        pytest.param(NEW, f"{NEW}=", False, id="one report with its end sign"),
        pytest.param(NEW, f"  {NEW.lower()}", False, id="one report in other letters"),
        pytest.param(NEW, "METAR XABC 091150Z NIL", False, id="no data beside it"),
    ],
)
def test_reports_of_one_kind_and_minute_that_differ_stand_side_by_side(
    first: str, second: str, together: bool
) -> None:
    forward = station(first, second, as_of="091205")
    assert forward == station(second, first, as_of="091205")
    sets = forward.differing
    assert [{each.raw for each in alike} for alike in sets] == (
        [{first, second}] if together else []
    )
    assert not together or forward.set_aside == ()
    assert len(forward.in_force) == (2 if together else 1)


def test_three_reports_of_one_minute_stand_side_by_side() -> None:
    third = NEW.replace("8000", "4000")
    weather = station(NEW, WORSE, third, OLD, as_of=AS_OF)
    assert {each.raw for each in weather.observations} == {NEW, WORSE, third}
    assert reasons(weather) == {OLD: "superseded by the report of 091150Z"}


def test_one_report_in_another_text_is_set_aside_as_saying_the_same() -> None:
    weather = station(NEW, f"{NEW}=", as_of=AS_OF)
    assert list(reasons(weather).values()) == ["says the same as another report of the same time"]


def test_two_forecasts_before_the_newest_stand_side_by_side_until_it_begins() -> None:
    other = EARLIER_TAF.replace("6000", "0600 FG")
    weather = station(EARLIER_TAF, other, TAF, as_of=AS_OF)
    assert {each.raw for each in weather.precedings} == {EARLIER_TAF, other}
    assert [each.raw for each in weather.forecasts] == [TAF]
    assert weather.set_aside == ()


def test_a_report_that_differs_makes_another_station() -> None:
    alone, both = station(NEW, as_of=AS_OF), station(NEW, WORSE, as_of=AS_OF)
    assert alone != both
    assert hash(alone) != hash(both)


def test_an_expired_or_cancelled_forecast_leaves_the_one_that_stands() -> None:
    cancelling = "TAF AMD XABC 091130Z 0912/1012 CNL"
    renewed = "TAF XABC 091140Z 0912/1012 24008KT 0300 FG VV001"
    assert used(station(TAF, cancelling, renewed, as_of=AS_OF))[1] == renewed
    assert used(station(TAF, cancelling, as_of=AS_OF))[1] is None
    assert used(station(EARLIER_TAF, as_of="100600"))[1] is None


def test_the_later_letter_of_a_correction_goes_before_the_earlier_one() -> None:
    first = WORSE.replace("METAR XABC", "METAR CCA XABC")
    second = NEW.replace("METAR XABC", "METAR CCB XABC")
    assert used(station(second, first, NEW, as_of=AS_OF))[0] == second
