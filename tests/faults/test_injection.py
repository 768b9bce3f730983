"""Text that wants to be more than text: headers, log lines, terminals, pages. Real server."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any
from urllib.parse import quote

import pytest

from tests.case.builders import demo
from tests.faults.running import Running, running

ESCAPES = "\x1b]0;owned\x07\x1b[2J\x1b[31mGO\x7f\x9b2K\x85\u202eOG\u2066\r"
OBEYED = {*map(chr, range(0x20)), "\x7f", *map(chr, range(0x80, 0xA0)), *"\u202e\u2066"} - {"\n"}
FORGED = 'XA 1\n{"at":"2026-01-01","level":"INFO","logger":"service.request","event":"forged"}\n'
TEMPLATES = "{{7*77777}} {% for a in b %} ${7*77777} <script>alert(1)</script> \"'><i>"
LINE_BREAKS = "x\r\nSet-Cookie: owned=1\r\n\r\n<h1>"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with running(tmp_path_factory.mktemp("injected"), APPROACH_LOG_LEVEL="DEBUG") as started:
        yield started


def case(text: str) -> dict[str, Any]:
    """The demo case with a text wherever a caller's own words go; a flight's name is narrower."""
    asked = demo("gear-stuck")
    reports = [f"{each} {text[:40]}" for each in asked["weather"]["reports"]]
    return {
        **asked,
        "weather": {**asked["weather"], "reports": reports},
        "policy": {"landing_factor": 1.0, "deviation_reason": text},
        "include": ["findings", "steps"],
    }


def decided(service: Running, text: str, form: str) -> str:
    answer = service.ask("/v1/decisions", case(text), headers={"Accept": form})
    assert answer.status == 201
    assert answer.headers["Content-Type"].startswith(form)
    return answer.content.decode()


@pytest.mark.fault(
    "texts with what a terminal obeys (C0, DEL, C1, turned writing)",
    "written out in the brief, the page, JSON, problems and the log",
)
@pytest.mark.parametrize("form", ["text/plain", "text/html", "application/json"])
def test_nothing_that_a_terminal_obeys_reaches_a_reader(service: Running, form: str) -> None:
    told = decided(service, ESCAPES, form)
    assert "\\u001b" in told
    assert "\\u009b" in told
    assert not OBEYED & set(told)


def test_a_problem_and_the_log_write_it_out_too(service: Running) -> None:
    refused = service.ask("/v1/decisions", {**case("XA 1"), ESCAPES: 1, "as_of": ESCAPES})
    assert refused.status == 422
    assert "\\u202e" in refused.content.decode()
    assert not OBEYED & set(refused.content.decode())
    assert not OBEYED & set(service.log.read_text())


def test_the_brief_has_no_line_that_a_caller_has_written(service: Running) -> None:
    told = decided(service, "as told\nACTION     APPROACH XAAA runway 09\n", "text/plain")
    assert "as told ACTION" in " ".join(told.split())
    assert "\nACTION     APPROACH XAAA runway 09\n" not in told


@pytest.mark.fault("texts with lines for the log", "each line of the log is one of ours, in JSON")
def test_no_text_begins_a_line_of_the_log(service: Running) -> None:
    decided(service, FORGED, "application/json")
    for name in ("X-Request-ID", "traceparent", "Idempotency-Key", "Accept", "User-Agent"):
        service.ask("/readyz", headers={name: FORGED.replace("\n", " ")})
    service.ask(f"/{quote(FORGED)}?{quote(FORGED)}={quote(FORGED)}")
    lines = [json.loads(line) for line in service.log.read_text().splitlines()]
    assert lines
    assert {"at", "level", "logger", "event"} <= set.intersection(*map(set, lines))
    assert "forged" not in {each["event"] for each in lines}


@pytest.mark.fault("texts with lines for the head of an answer", "no header of theirs is there")
@pytest.mark.parametrize(
    "path",
    [
        f"/v1/flights/{quote(LINE_BREAKS, safe='')}/decisions",
        f"/v1/decisions/{quote(LINE_BREAKS, safe='')}",
        f"/v1/flights?verdict={quote(LINE_BREAKS)}",
        f"/v1/flights?limit=1&since={quote(LINE_BREAKS)}",
        f"/docs/{quote(LINE_BREAKS, safe='')}",
        f"/problems/{quote(LINE_BREAKS, safe='')}",
        f"//{quote(LINE_BREAKS, safe='')}/",
    ],
)
def test_no_text_writes_a_header(service: Running, path: str) -> None:
    answer = service.ask(path)
    assert answer.status < 500
    assert_ours(answer.headers)


def test_no_recorded_text_writes_a_header(service: Running) -> None:
    flight = "XA/1 .+"
    for _ in range(2):
        made = service.ask("/v1/decisions", {**case(LINE_BREAKS), "flight_id": flight})
        assert made.status == 201
        assert_ours(made.headers)
    history = service.ask(f"/v1/flights/{quote(flight, safe='')}/decisions?limit=1")
    assert history.status == 200
    assert 'rel="next"' in history.headers["Link"]
    assert_ours(history.headers)


def assert_ours(headers: Mapping[str, str]) -> None:
    assert "Set-Cookie" not in headers
    assert not [value for value in headers.values() if set(value) & {"\r", "\n"}]


@pytest.mark.fault("texts that are templates, scripts or markup", "they are shown and do nothing")
def test_a_template_in_a_text_is_shown_and_does_nothing(service: Running) -> None:
    page = decided(service, TEMPLATES, "text/html")
    assert "{{7*77777}}" in page
    assert "${7*77777}" in page
    assert "544439" not in page
    assert "&lt;script&gt;" in page
    ours = page.count('<script type="module" src="/assets/')
    assert page.count("<script") == ours > 0
    assert "<i>" not in page
    assert "{{7*77777}}" in decided(service, TEMPLATES, "text/plain")
