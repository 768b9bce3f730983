"""Every word of a report is told once, where it stands, with what was read from it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.answer.tokens import ReportPart, TokenedReport, tokened, tokened_unreadable
from decision.case.demos import installed_demos
from decision.errors import UnreadableReport
from decision.weather import decode

AT = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
REPORTS = sorted(
    {raw for demo in installed_demos() for raw in demo.request()["weather"]["reports"]}
)
LONG = (
    "METAR XAAA 140550Z 24018G30KT 210V270 1500 0900NE R27/0600V1200U -SHRA FZFG VCTS"
    " BKN008CB OVC012 M01/M02 Q0989 RETSRA WS R27 R27/451293 BECMG FM0700 9999 NSW"
    " RMK AO2 PK WND 23035/0541"
)
FORECAST = (
    "TAF AMD XAAA 140500Z 1406/1506 24010KT CAVOK TX02/1412Z PROB30 TEMPO 1407/1409 1500 +SNRA"
    " BKN004 FM140900 00000KT P6SM FEW030TCU"
)


def _told(raw: str) -> TokenedReport:
    try:
        return tokened(decode(raw, received_at=AT))
    except UnreadableReport as error:
        return tokened_unreadable(raw, error.problem)


def _meanings(raw: str) -> dict[str, str | None]:
    return {each.text: each.meaning for each in _told(raw).tokens}


def _require_every_word_once(raw: str) -> None:
    tokens = _told(raw).tokens
    assert [raw[each.start : each.end] for each in tokens] == [each.text for each in tokens]
    assert " ".join(each.text for each in tokens).split() == raw.replace("=", " ").split()


@pytest.mark.parametrize("raw", [*REPORTS, LONG, FORECAST, "nothing of a report", "METAR XAAA"])
def test_every_word_stands_in_one_group_where_it_is_written(raw: str) -> None:
    _require_every_word_once(raw)


WORDS = st.sampled_from(f"{LONG} {FORECAST} 99999 BKN02O NIL CNL FM 140900 AT0700 // $".split())


@given(st.lists(WORDS, max_size=20), st.sampled_from(["METAR XAAA 140550Z", "TAF XAAA 1406/1506"]))
def test_whatever_the_words_each_is_told_and_none_unread_gets_a_meaning(
    words: list[str], head: str
) -> None:
    raw = " ".join([head, *words])
    _require_every_word_once(raw)
    told = _told(raw)
    unread = [each.text for each in told.tokens if each.meaning is None]
    assert set(" ".join(told.unread).split()) <= set(" ".join(unread).split())
    assert (told.consequence is None) == (not told.unread)


def test_what_a_report_says_is_told_in_words() -> None:
    assert _meanings(LONG) | {
        "24018G30KT 210V270": "240°, 18 kt, gusts 30 kt, varying 210° to 270°",
        "1500 0900NE": "1500 m, lowest 900 m to NE",
        "R27/0600V1200U": "RVR of runway 27 600 m to 1200 m, rising",
        "-SHRA": "light showers of rain",
        "FZFG": "freezing fog",
        "VCTS": "thunderstorm in the vicinity",
        "BKN008CB": "ceiling, broken cumulonimbus 800 ft",
        "OVC012": "overcast 1200 ft",
        "M01/M02": "-1 °C, dew point -2 °C",
        "Q0989": "QNH 989 hPa",
        "RETSRA": "lately thunderstorm with rain",
        "WS R27": "wind shear, runway 27",
        "R27/451293": "runway 27: dry snow, 50 %, 12 mm, braking medium",
        "BECMG": "becoming",
        "FM0700": "from 07:00Z",
        "9999": "at least 10 km",
        "PK WND 23035/0541": "remark: peak wind",
        "AO2": "read, not used",
    } == _meanings(LONG)


def test_what_a_forecast_says_is_told_with_the_times_of_its_groups() -> None:
    assert _meanings(FORECAST) | {
        "AMD": "amended",
        "1406/1506": "from 14 Mar 06:00Z to 15 Mar 06:00Z",
        "PROB30": "30 % probable",
        "1407/1409": "07:00Z to 09:00Z",
        "+SNRA": "heavy snow and rain",
        "FM140900": "from 09:00Z",
        "00000KT": "calm",
        "P6SM": "above 9656 m",
        "FEW030TCU": "few towering cumulus 3000 ft",
        "TX02/1412Z": "highest 2 °C",
    } == _meanings(FORECAST)


def test_a_word_that_is_not_read_has_no_meaning_and_a_consequence() -> None:
    told = _told("METAR XTOR 140600Z 29010KT 9999 BKN02O 07/04 Q1011")
    assert [each.text for each in told.tokens if each.meaning is None] == ["BKN02O"]
    assert told.consequence == "1 group not read, so cloud is not known"
    two = _told("METAR XTOR 140600Z 29010KT 99999 BKN02O 07/04 Q1011")
    assert two.consequence == "2 groups not read, so wind, visibility and cloud are not known"
    assert {each.text: each.meaning for each in two.tokens}["29010KT"] == "wind not known"


def test_a_forecast_with_a_word_that_is_not_read_is_not_known_for_its_time() -> None:
    told = _told(f"{FORECAST} 99999")
    assert told.consequence == "1 group not read, so the weather of that time is not known"


def test_a_text_that_is_no_report_is_told_as_not_read() -> None:
    told = _told("good morning")
    assert [(each.text, each.meaning) for each in told.tokens] == [
        ("good", None),
        ("morning", None),
    ]
    assert told.consequence is not None
    assert told.consequence.startswith("nothing of it is used: ")


def test_the_head_of_a_report_is_told_apart() -> None:
    tokens = _told("METAR XTOR 140600Z AUTO 29010KT CAVOK 07/04 Q1011").tokens
    head = [each.text for each in tokens if each.part is ReportPart.HEADER]
    assert head == ["METAR", "XTOR", "140600Z", "AUTO"]
