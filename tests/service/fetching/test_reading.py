"""What is taken from a source's text: all of a report, and nothing that is none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fetching.reading import KEPT, FetchedReading, read
from tests.service.fetching.builders import NOW, REPORTS, forecast, observation

XKAL = (observation("XKAL"), forecast("XKAL"))
METAR, TAF = REPORTS[:2]


def reading_of(text: str) -> FetchedReading:
    return read(text.encode(), asked=XKAL, received_at=NOW)


def reports_of(text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    reports = reading_of(text).reports
    return reports.get(XKAL[0], ()), reports.get(XKAL[1], ())


@pytest.mark.parametrize(
    "text",
    [
        f"{METAR}\n{TAF}\n",
        f"{METAR}={TAF}=",
        f"{METAR}=\r\n{TAF}=\r\n",
        f"\n\n  {METAR} =\n\n\n{TAF}\n\n",
        f"{TAF}\n{METAR}",
        "\n".join([*METAR.split(" ", 1), *TAF.split(" ", 1)]),
        f"# reports of today\n\n{METAR}\n{TAF}\n\nthat is all",
    ],
    ids=["lines", "signs", "both", "blank lines", "forecast first", "headings", "words around"],
)
def test_reports_come_by_line_by_sign_or_by_paragraph(text: str) -> None:
    assert reports_of(text) == ((METAR,), (TAF,))


@pytest.mark.parametrize("join", ["\n     ", "\n", "\r\n\t"])
def test_a_forecast_goes_on_over_lines(join: str) -> None:
    start, change = TAF.split(" BECMG ")
    assert reports_of(f"{start}{join}BECMG {change}\n{METAR}\n") == ((METAR,), (TAF,))


@pytest.mark.parametrize(
    "line",
    [
        "  QQQQ 0000 FG VV000",
        "\t(amended) 0000 fog",
        "TEMPO 1406/1410 0000 FG (amended)",
        "PROB40 0000 fg",
        "+TSRA; 0000",
    ],
)
def test_an_unknown_line_of_a_report_is_not_dropped_from_it(line: str) -> None:
    """A forecast without its last line could be better than it is."""
    assert reports_of(f"{TAF}\n{line}\n") == ((), (f"{TAF} {line.strip()}",))


@pytest.mark.parametrize(
    "line",
    [
        "<p>no reports</p>",
        "METAR",
        "METAR XKAL",
        "METAR XKAL NIL",
        "METAR XBRE 140600Z 24009KT 9999 SCT025 10/06 Q1014",
        "xkal 140600Z 26011KT",
        "SAUK31 XKAL 140600",
        "METARXKAL 140600Z 26011KT",
        "METAR XKAL 140600Z " + "26011KT " * 300,
        "\x00\x01METAR XKAL 140600Z 26011KT 9999",
    ],
)
def test_what_is_no_report_of_a_station_asked_for_is_set_aside(line: str) -> None:
    reading = reading_of(f"{line}\n\n{METAR}\n")
    assert reading.reports == {XKAL[0]: (METAR,)}
    assert reading.set_aside == (line.strip(),)


def test_only_the_newest_are_kept_and_each_once() -> None:
    older = [METAR.replace("140600Z", f"1405{minute}Z") for minute in (50, 30, 20)]
    reading = reading_of("\n".join([older[2], older[0], METAR, METAR, older[1]]))
    assert reading.reports[XKAL[0]] == (METAR, older[0], older[1])
    assert len(reading.reports[XKAL[0]]) == KEPT
    assert reading.set_aside == (older[2],)


def test_a_special_report_is_an_observation() -> None:
    special = METAR.replace("METAR", "SPECI").replace("140600Z", "140608Z")
    assert reports_of(f"{METAR}\n{special}") == ((special, METAR), ())


@given(st.binary(max_size=400))
def test_no_bytes_make_reading_fail_or_invent_a_report(noise: bytes) -> None:
    reading = read(noise, asked=XKAL, received_at=NOW)
    text = " ".join(noise.decode("ascii", errors="replace").split())
    for reports in reading.reports.values():
        assert all(" ".join(report.split()) in text for report in reports)


@given(st.text(alphabet="MTAFERXKL 0156Z/=\n<a", max_size=200))
def test_no_report_of_another_station_is_ever_taken(text: str) -> None:
    reading = read(text.encode(), asked=XKAL, received_at=NOW)
    assert all(lack in XKAL for lack in reading.reports)
    assert all("XKAL" in report for reports in reading.reports.values() for report in reports)
