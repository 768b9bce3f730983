"""Reports generated from a model come back as the model, and never better than a plain scanner."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.weather import Element, Elements, Report
from decision.weather.report import CloudLayer, RunwayVisualRange, WeatherGroup
from tests.weather.builders import read
from tests.weather.generated import Model, forecasts, observations, trends
from tests.weather.scanner import Scan, scan, scan_observation

TOLERANCE = 0.05


def elements_of(report: Report) -> Elements:
    assert report.elements is not None
    return report.elements


def assert_means(elements: Elements, means: dict[str, object]) -> None:
    """Every element of the model is there with its value, bound and unit."""
    wind, visibility, ceiling = elements.wind, elements.visibility, elements.ceiling
    assert wind is not None
    assert visibility is not None
    assert ceiling is not None
    assert (wind.from_true_deg, wind.variable) == (means["from"], means["variable"])
    assert wind.speed_kt == pytest.approx(means["speed"])
    assert wind.gust_kt == (None if means["gust"] is None else pytest.approx(means["gust"]))
    if means["visibility"] is None:
        assert visibility.metres is None
    else:
        assert visibility.metres == pytest.approx(means["visibility"], abs=TOLERANCE)
        assert visibility.bound.value == means["bound"]
        assert visibility.worst_metres == pytest.approx(means["least"], abs=TOLERANCE)
    assert (ceiling.state.value, ceiling.feet) == (means["state"], means["ceiling"])
    assert [weather.raw for weather in elements.weather or ()] == means["weather"]


def is_never_better(elements: Elements, seen: Scan) -> bool:
    """Whether the decoded elements are as bad as what the scanner saw, or unknown."""
    return (
        _not_above(_ceiling_ft(elements), seen.ceiling_ft, Element.CLOUD in elements.unknown)
        and not (seen.blank_ceiling and Element.CLOUD not in elements.unknown)
        and _not_above(_visibility_m(elements), seen.visibility_m, _is_unseen(elements))
        and _not_above(_rvr_m(elements.rvr), seen.rvr_m, Element.RVR in elements.unknown)
        and _no_weather_lost(elements.weather or (), seen, Element.WEATHER in elements.unknown)
        and (not seen.cb or _has_cb(elements.clouds or ()) or Element.CLOUD in elements.unknown)
    )


def _not_above(decoded: float | None, seen: float | None, unknown: bool) -> bool:
    if seen is None or unknown:
        return True
    return decoded is not None and decoded <= seen + TOLERANCE


def _ceiling_ft(elements: Elements) -> float | None:
    return None if elements.ceiling is None else elements.ceiling.feet


def _visibility_m(elements: Elements) -> float | None:
    return None if elements.visibility is None else elements.visibility.worst_metres


def _is_unseen(elements: Elements) -> bool:
    return Element.VISIBILITY in elements.unknown


def _rvr_m(rvr: tuple[RunwayVisualRange, ...]) -> float | None:
    return min((r.low_m for r in rvr if r.low_m is not None), default=None)


def _no_weather_lost(weather: tuple[WeatherGroup, ...], seen: Scan, unknown: bool) -> bool:
    thunder = any(w.thunderstorm for w in weather)
    freezing = any(w.freezing_precipitation for w in weather)
    return unknown or ((thunder or not seen.thunderstorm) and (freezing or not seen.freezing))


def _has_cb(layers: tuple[CloudLayer, ...]) -> bool:
    return any(layer.convective == "CB" for layer in layers)


@given(observations)
def test_a_generated_observation_comes_back_as_its_model(model: Model) -> None:
    report = read(f"METAR XABC 251150Z {model.body}")
    elements = elements_of(report)

    assert_means(elements, model.means)
    assert [r.low_m for r in elements.rvr] == pytest.approx(model.means["rvr"])
    assert elements.temperature is not None
    assert elements.temperature.temperature_degc == model.means["air"]
    assert elements.pressure is not None
    assert elements.pressure.qnh_hpa == model.means["qnh"]
    assert report.unread == ()


@given(observations, trends)
def test_a_generated_observation_is_never_better_than_the_scanner_saw(
    model: Model, trend: str
) -> None:
    raw = f"METAR XABC 251150Z {model.body} {trend}"

    assert is_never_better(elements_of(read(raw)), scan_observation(raw))


@given(observations, st.randoms(use_true_random=False))
def test_a_mangled_observation_is_never_better_than_the_scanner_saw(
    model: Model, random: object
) -> None:
    raw = f"METAR XABC 251150Z {_mangled(model.body, random)}"

    report = read(raw)
    assert report.nil or is_never_better(elements_of(report), scan_observation(raw))


def _mangled(body: str, random: object) -> str:
    """The body with one letter lost, doubled or exchanged, as a careless hand or line does it."""
    choose = getattr(random, "randrange")  # noqa: B009 - hypothesis types its random as object
    at = choose(len(body))
    return (
        body[:at] + body[at + 1 :],
        body[:at] + body[at] + body[at:],
        body[:at] + "X" + body[at + 1 :],
    )[choose(3)]


@settings(max_examples=60)
@given(forecasts())
def test_a_generated_forecast_comes_back_as_its_groups(
    made: tuple[str, list[tuple[str, Model]]],
) -> None:
    text, groups = made
    report = read(text)

    assert len(report.periods) == len(groups)
    for period, (head, body) in zip(report.periods, groups, strict=True):
        assert period.raw == f"{head} {body.body}".strip()
        assert_means(period.elements, body.means)
        assert is_never_better(period.elements, scan(f" {body.body} "))
    assert report.unread == ()


def test_the_scanner_sees_what_a_better_decode_would_hide() -> None:
    flattering = elements_of(read("METAR XABC 251150Z 24005KT 9999 NSC 10/05 Q1013"))
    seen = scan_observation("METAR XABC 251150Z 24005KT 0300 R27/0350 TSRA BKN002CB 10/05 Q1013")

    assert seen == Scan(200.0, 300.0, 350.0, True, False, True, False)
    assert not is_never_better(flattering, seen)
