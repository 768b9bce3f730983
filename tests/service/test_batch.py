from __future__ import annotations

import json
import logging
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service.app import create_app
from service.engine import installed_engine
from service.examples import DEMOS
from service.lines import read_lines
from service.many import AHEAD, CHUNK, AskedLine, Crew, DecidedLine, RefusedLine, decide_many
from service.settings import ROOT
from service.store import DecisionLog, Draft, Record, Reservation, SqlDecisionLog, StoreUnavailable
from tests.service.builders import (
    body,
    plain_answer,
    plain_engine,
    service_settings,
    stored_request,
)

URL = "/v1/decisions/batch"
LINES = {"Content-Type": "application/x-ndjson"}
CASES = [json.dumps(case) for case in DEMOS.values()]
PROCESSES = 2


def answered(client: FlaskClient, text: str, url: str = URL) -> list[Any]:
    """The lines of the answer but the last, which is checked."""
    answer = client.post(url, data=text.encode(), headers=LINES)
    assert (answer.status_code, answer.mimetype) == (200, "application/x-ndjson")
    *lines, end = [json.loads(line) for line in answer.data.splitlines()]
    assert end == {"end": True, "count": len(lines)}
    return lines


def flights(number: int) -> str:
    return "\n".join(json.dumps(body(flight_id=f"XA {index}")) for index in range(number))


def line_of(number: int, alone: bytes, ref: str = "null") -> bytes:
    """The line that a batch has for what a case gets by itself."""
    return b'{"line":%d,"ref":%s,' % (number, ref.encode()) + alone[1:]


def test_each_line_is_byte_for_byte_what_its_case_gets_by_itself_after_its_number(
    real_client: FlaskClient,
) -> None:
    alone = [
        real_client.post("/v1/decisions?record=false", data=case, content_type="application/json")
        for case in CASES
    ]
    batch = real_client.post(URL, data="\n".join(CASES).encode(), headers=LINES)
    assert batch.data.splitlines(keepends=True)[:-1] == [
        line_of(number, answer.data) for number, answer in enumerate(alone, start=1)
    ]


def with_ref(case: str, ref: object) -> str:
    return json.dumps({"ref": ref, **json.loads(case)})


def test_a_ref_is_told_again_and_is_no_part_of_the_case(
    real_client: FlaskClient,
) -> None:
    alone = real_client.post(
        "/v1/decisions?record=false", data=CASES[0], content_type="application/json"
    )
    batch = real_client.post(URL, data=with_ref(CASES[0], 'Vento "7"').encode(), headers=LINES)
    assert batch.data.splitlines(keepends=True)[0] == line_of(1, alone.data, '"Vento \\"7\\""')
    text = with_ref(CASES[0], "a").encode()
    (line,) = answered(real_client, text.decode(), f"{URL}?record=true")
    kept = real_client.get(f"/v1/decisions/{line['id']}/request").get_json()
    assert kept == json.loads(CASES[0])


@pytest.mark.parametrize("ref", ["", "x" * 129, 3, ["a"]])
def test_what_is_no_ref_is_told_with_the_other_faults_of_its_line(
    client: FlaskClient, ref: object
) -> None:
    wrong = with_ref(json.dumps(body(colour="red")), ref)
    lines = answered(client, f"{wrong}\n[1]")
    assert [fault["pointer"] for fault in lines[0]["errors"]] == ["/colour", "/ref"]
    assert [line["ref"] for line in lines] == [None, None]


def test_a_refused_line_begins_with_its_number_and_its_ref(client: FlaskClient) -> None:
    text = "\n" + with_ref(json.dumps(body(flight_id=3)), "a")
    answer = client.post(URL, data=text.encode(), headers=LINES)
    assert answer.data.startswith(b'{"line":2,"ref":"a","type":')


def test_a_bad_line_is_told_by_number_and_pointer_and_the_others_go_on(
    real_client: FlaskClient,
) -> None:
    wrong_mass = json.loads(CASES[0])
    wrong_mass["aircraft"]["mass_kg"] = "heavy"
    unknown = json.loads(CASES[0]) | {"colour": "red"}
    bad = ["{", "[1]", json.dumps(wrong_mass), "", json.dumps(unknown), "NaN", "null"]
    lines = answered(real_client, "\n".join([CASES[0], *bad, CASES[0]]))
    assert [line["line"] for line in lines] == [1, 2, 3, 4, 6, 7, 8, 9]
    assert lines[0] | {"line": 9} == lines[-1]
    problems = lines[1:-1]
    assert [line["type"].rpartition("/")[2] for line in problems] == [
        "not-json",
        "invalid-request",
        "invalid-request",
        "invalid-request",
        "not-json",
        "invalid-request",
    ]
    pointers = [[fault["pointer"] for fault in line["errors"]] for line in problems]
    assert pointers == [[], [""], ["/aircraft/mass_kg"], ["/colour"], [], [""]]


def test_nothing_is_fetched_for_a_batch_and_a_line_that_asks_for_it_says_so(
    client: FlaskClient,
) -> None:
    lines = answered(client, json.dumps(body(weather={"reports": [], "fetch": True})))
    assert [fault["pointer"] for fault in lines[0]["errors"]] == ["/weather/fetch"]
    assert answered(client, json.dumps(body(weather={"reports": [], "fetch": False})))[0]["verdict"]


def test_the_order_is_kept(client: FlaskClient) -> None:
    lines = answered(client, flights(200))
    assert [line["flight_id"] for line in lines] == [f"XA {index}" for index in range(200)]


@pytest.mark.parametrize("text", ["", "\n", "\r\n \n\n"])
def test_a_batch_of_nothing_has_only_its_end(client: FlaskClient, text: str) -> None:
    assert answered(client, text) == []


def test_lines_may_end_as_on_any_system(client: FlaskClient) -> None:
    assert len(answered(client, flights(3).replace("\n", "\r\n") + "\r\n")) == 3


def test_nothing_is_recorded_unless_it_is_asked_for(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    assert [line["id"] for line in answered(client, flights(3))] == [None] * 3
    assert log.count() == 0


def test_what_is_recorded_is_the_line_and_is_found_by_its_id(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    text = flights(2) + "\n{"
    answer = client.post(f"{URL}?record=true", data=text.encode(), headers=LINES)
    *decisions, problem, _end = answer.data.splitlines(keepends=True)
    assert json.loads(problem)["line"] == 3
    assert log.count() == 2
    for number, request in enumerate(text.splitlines()[:2], start=1):
        identity = json.loads(decisions[number - 1])["id"]
        alone = client.get(f"/v1/decisions/{identity}").data
        assert decisions[number - 1] == line_of(number, alone)
        assert stored_request(log, identity) == request.encode()


def test_rows_have_the_figures_of_each_line_and_no_words(
    real_client: FlaskClient, log: SqlDecisionLog
) -> None:
    text = "\n".join([with_ref(CASES[0], "a"), "{", CASES[1]])
    whole, rows = answered(real_client, text), answered(real_client, text, f"{URL}?view=rows")
    for full, row in zip(whole[::2], rows[::2], strict=True):
        assert {name: row[name] for name in ("line", "ref", "verdict", "action", "deadline")} == {
            name: full[name] for name in ("line", "ref", "verdict", "action", "deadline")
        }
        assert "headline" not in row
        assert len(json.dumps(row)) < 2_500
    assert rows[1] | {"request_id": None} == whole[1] | {"request_id": None}
    assert log.count() == 0


# --- a batch that may be sent twice ---


def keyed(client: FlaskClient, text: str, key: str = "evening-0610") -> list[Any]:
    answer = client.post(
        f"{URL}?record=true", data=text.encode(), headers=LINES | {"Idempotency-Key": key}
    )
    *lines, end = [json.loads(line) for line in answer.data.splitlines()]
    assert end["end"] is True
    return lines


def test_a_batch_sent_again_under_its_key_gets_the_same_lines_and_records_nothing_more(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    first = keyed(client, flights(5))
    assert len({line["id"] for line in first}) == 5
    assert keyed(client, flights(5)) == first
    assert log.count() == 5


def test_of_a_batch_that_was_cut_off_only_the_rest_is_decided(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    first = keyed(client, flights(2))
    whole = keyed(client, flights(5))
    assert whole[:2] == first
    assert log.count() == 5


def test_a_line_that_is_another_under_the_same_key_is_refused_and_the_others_go_on(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    keyed(client, flights(3))
    one, _, three = flights(3).splitlines()
    lines = keyed(client, "\n".join([one, json.dumps(body(flight_id="XA 9")), three]))
    assert [line.get("status") for line in lines] == [None, 422, None]
    assert lines[1]["type"].endswith("/key-reused")
    assert [fault["pointer"] for fault in lines[1]["errors"]] == ["Idempotency-Key:"]
    assert log.count() == 3


def test_another_key_and_a_single_request_of_the_same_key_are_apart(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    keyed(client, flights(1))
    keyed(client, flights(1), key="evening-0640")
    alone = client.post(
        "/v1/decisions", json=body(flight_id="XA 5"), headers={"Idempotency-Key": "evening-0610"}
    )
    assert alone.status_code == 201
    assert log.count() == 3


def test_a_line_that_was_refused_may_be_put_right_under_the_same_key(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    assert keyed(client, "{")[0]["status"] == 400
    assert keyed(client, flights(1))[0]["line"] == 1
    assert log.count() == 1


def test_keys_of_lines_that_were_not_decided_are_free_again_when_the_caller_hangs_up(
    client: FlaskClient, log: SqlDecisionLog
) -> None:
    answer = client.post(
        f"{URL}?record=true",
        data=flights(9).encode(),
        headers=LINES | {"Idempotency-Key": "evening-0610"},
    )
    first = json.loads(next(answer.iter_encoded()))
    answer.close()
    lines = keyed(client, flights(9))
    assert lines[0] == first
    assert [line.get("status") for line in lines] == [None] * 9
    assert log.count() == 9


def test_a_large_batch_sent_again_comes_back_through_the_processes(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    settings = service_settings(tmp_path, APPROACH_BATCH_PROCESSES="2")
    client = create_app(settings, log=log).test_client()
    text = "\n".join([CASES[0]] * 70)
    first = keyed(client, text)
    assert keyed(client, text) == first
    assert log.count() == 70


class FailingLog:
    """A log that takes one decision and then does not answer."""

    def __init__(self, log: SqlDecisionLog) -> None:
        self._log, self.taken = log, 0

    def __getattr__(self, name: str) -> Any:
        return getattr(self._log, name)

    def record(self, draft: Draft, reservation: Reservation | None = None) -> Record:
        self.taken += 1
        if self.taken > 1:
            raise StoreUnavailable("gone")
        return self._log.record(draft, reservation)


def test_a_line_that_the_store_does_not_take_says_so(tmp_path: Path, log: SqlDecisionLog) -> None:
    failing: DecisionLog = FailingLog(log)
    app = create_app(service_settings(tmp_path), engine=plain_engine(), log=failing)
    lines = answered(app.test_client(), flights(2), f"{URL}?record=true")
    assert [line.get("status") for line in lines] == [None, 503]
    assert lines[1]["line"] == 2


def test_an_unexpected_error_spoils_its_own_line_only(tmp_path: Path, log: SqlDecisionLog) -> None:
    def decide(request: Mapping[str, Any]) -> Mapping[str, Any]:
        if request["flight_id"] == "XA 1":
            raise RuntimeError("secret detail")
        return plain_answer(request)

    app = create_app(service_settings(tmp_path), engine=plain_engine(decide), log=log)
    lines = answered(app.test_client(), flights(3))
    assert [line.get("status") for line in lines] == [None, 500, None]
    assert "secret" not in json.dumps(lines)


@pytest.mark.parametrize(
    ("url", "headers", "status", "accepted"),
    [
        (URL, {"Content-Type": "application/json"}, 415, None),
        (URL, LINES | {"Content-Encoding": "gzip"}, 415, None),
        (URL, LINES | {"Accept": "application/json"}, 406, "application/x-ndjson"),
        (URL, LINES | {"Idempotency-Key": "a"}, 422, "or no key"),
        (f"{URL}?record=true", LINES | {"Idempotency-Key": "a b"}, 422, "without spaces"),
        (f"{URL}?record=1", LINES, 422, "true or false"),
        (f"{URL}?limit=3", LINES, 422, "record"),
        (f"{URL}?view=all", LINES, 422, "answers, rows"),
        (f"{URL}?view=rows&record=true", LINES, 422, "record=false"),
    ],
)
def test_what_is_wrong_with_the_whole_request_has_a_status_of_its_own(
    client: FlaskClient, url: str, headers: dict[str, str], status: int, accepted: str | None
) -> None:
    answer = client.post(url, data=flights(1).encode(), headers=headers)
    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")
    if status == 415:
        assert answer.headers["Accept"] == "application/x-ndjson, application/jsonl"
    else:
        assert accepted is not None
        assert accepted in json.loads(answer.data)["errors"][0]["accepted"]


def test_the_other_name_of_the_media_type_is_taken_and_given(client: FlaskClient) -> None:
    kind = "application/jsonl"
    answer = client.post(URL, data=b"", content_type=kind, headers={"Accept": kind})
    assert (answer.status_code, answer.mimetype) == (200, kind)


def limited(tmp_path: Path, log: SqlDecisionLog, **limits: str) -> FlaskClient:
    settings = service_settings(tmp_path, **limits)
    return create_app(settings, engine=plain_engine(), log=log).test_client()


@pytest.mark.parametrize("chunked", [False, True])
def test_a_batch_that_is_too_large_is_refused_before_anything_is_decided(
    tmp_path: Path, log: SqlDecisionLog, chunked: bool
) -> None:
    client = limited(tmp_path, log, APPROACH_BATCH_MAX_BYTES="2000")
    more = {"wsgi.input_terminated": True, "HTTP_TRANSFER_ENCODING": "chunked"} if chunked else {}
    stream = BytesIO(flights(20).encode())
    length = {} if chunked else {"content_length": len(stream.getvalue())}
    answer = client.post(URL, input_stream=stream, headers=LINES, environ_overrides=more, **length)
    assert answer.status_code == 413
    assert json.loads(answer.data)["detail"] == "The limit is 2000 bytes."


def test_a_batch_of_too_many_lines_is_refused(tmp_path: Path, log: SqlDecisionLog) -> None:
    client = limited(tmp_path, log, APPROACH_BATCH_MAX_LINES="5")
    assert len(answered(client, flights(5) + "\n")) == 5
    answer = client.post(URL, data=(flights(6) + "\n").encode(), headers=LINES)
    assert (answer.status_code, json.loads(answer.data)["detail"]) == (413, "The limit is 5 lines.")


def test_a_line_is_no_larger_than_the_body_of_one_request(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    client = limited(tmp_path, log, APPROACH_MAX_BODY_BYTES="1024")
    exact = json.dumps(body()).ljust(1024)
    lines = answered(client, "\n".join([exact, exact + " ", "x" * 200_000, exact]))
    assert [line.get("status") for line in lines] == [None, 413, 413, None]
    assert [line["line"] for line in lines] == [1, 2, 3, 4]


def test_the_lines_of_a_file_are_numbered_and_a_long_one_is_not_held() -> None:
    file = BytesIO(b"a\n\n" + b"b" * 9 + b"\n" + b"c" * 8 + b"\nd" * 1)
    read = [(line.number, line.content) for line in read_lines(file, longest=8)]
    assert read == [(1, b"a"), (3, None), (4, b"c" * 8), (5, b"d")]


def test_a_batch_that_takes_too_long_says_where_it_ended_and_has_no_end(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    def slowly(request: Mapping[str, Any]) -> Mapping[str, Any]:
        time.sleep(0.4)
        return plain_answer(request)

    settings = service_settings(tmp_path, APPROACH_BATCH_TIMEOUT_S="1")
    client = create_app(settings, engine=plain_engine(slowly), log=log).test_client()
    answer = client.post(URL, data=flights(9).encode(), headers=LINES)
    *decided, late = [json.loads(line) for line in answer.data.splitlines()]
    assert len(decided) < 4
    assert (late["status"], late["line"]) == (503, len(decided) + 1)
    assert late["detail"].startswith("After 1 s line ")


def test_the_work_stops_when_the_caller_hangs_up(tmp_path: Path, log: SqlDecisionLog) -> None:
    decided = []

    def counting(request: Mapping[str, Any]) -> Mapping[str, Any]:
        decided.append(request)
        return plain_answer(request)

    client = create_app(
        service_settings(tmp_path), engine=plain_engine(counting), log=log
    ).test_client()
    answer = client.post(URL, data=flights(500).encode(), headers=LINES)
    lines = iter(answer.response)
    next(lines)
    next(lines)
    answer.close()
    assert len(decided) == 2


# --- several processes ---


@pytest.fixture(scope="module")
def crew() -> Iterator[Crew]:
    crew = Crew(processes=PROCESSES, log_level="ERROR")
    yield crew
    crew.close()


def asked(number: int) -> list[AskedLine]:
    lines = [*CASES, "{", '{"flight_id": 3}']
    return [
        AskedLine(
            number=index + 1, content=lines[index % len(lines)].encode(), identity=f"id-{index}"
        )
        for index in range(number)
    ]


def test_several_processes_answer_what_one_does_in_the_same_order(crew: Crew) -> None:
    engine, cases = installed_engine(), asked(CHUNK * 3 + 1)
    assert list(decide_many(cases, engine=engine, crew=crew)) == list(
        decide_many(cases, engine=engine)
    )


def test_only_a_few_chunks_are_on_the_way_however_many_cases_there_are(crew: Crew) -> None:
    taken = 0

    def endless() -> Iterator[AskedLine]:
        nonlocal taken
        while True:
            taken += 1
            yield AskedLine(number=taken, content=b"{")

    results = decide_many(endless(), engine=plain_engine(), crew=crew)
    for _ in range(CHUNK * 5):
        next(results)
    results.close()
    assert taken <= CHUNK * (5 + AHEAD * PROCESSES + 1)


def test_when_a_process_dies_the_batch_is_decided_all_the_same(
    crew: Crew, caplog: pytest.LogCaptureFixture
) -> None:
    list(decide_many(asked(1), engine=plain_engine(), crew=crew))
    results = decide_many(asked(CHUNK * 8), engine=installed_engine(), crew=crew)
    first = next(results)
    assert crew._pool is not None
    for process in crew._pool._processes:
        os.kill(process, signal.SIGKILL)
    with caplog.at_level(logging.WARNING, logger="service.many"):
        rest = list(results)
    assert [each.number for each, _ in [first, *rest]] == list(range(1, CHUNK * 8 + 1))
    assert {type(result) for _, result in rest} == {DecidedLine, RefusedLine}
    assert "working here" in caplog.text
    again = list(decide_many(asked(3), engine=plain_engine(), crew=crew))
    assert crew._pool is not None, "a new crew decides the next batch"
    assert [result for _, result in again] == [result for _, result in [first, *rest][:3]]


START_A_CREW = """
import sys, time
from service.many import AskedLine, Crew, decide_many
from tests.service.builders import plain_engine
if __name__ == "__main__":
    crew = Crew(processes=2, log_level="ERROR")
    cases = [AskedLine(number=number, content=b"{") for number in range(64)]
    list(decide_many(cases, engine=plain_engine(), crew=crew))
    print(*crew._pool._processes, flush=True)
    time.sleep(60)
"""


def test_the_processes_end_when_their_server_is_killed(tmp_path: Path) -> None:
    script = tmp_path / "start.py"
    script.write_text(START_A_CREW)
    with subprocess.Popen(
        [sys.executable, script],
        stdout=subprocess.PIPE,
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT)},
        text=True,
    ) as server:
        assert server.stdout is not None
        workers = [int(word) for word in server.stdout.readline().split()]
        assert len(workers) == 2
        server.kill()
    until_s = time.monotonic() + 20
    while any(running(worker) for worker in workers) and time.monotonic() < until_s:
        time.sleep(0.05)
    assert not any(running(worker) for worker in workers)


def running(process: int) -> bool:
    """Whether a process runs; one that ended and that nobody has asked about does not."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_when_no_process_can_be_started_this_one_decides(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def no_more(*_args: object) -> None:
        raise OSError("no more processes")

    lonely = Crew(processes=PROCESSES, log_level="ERROR")
    with lonely._running() as pool:
        monkeypatch.setattr(pool, "submit", no_more)
        results = list(decide_many(asked(2), engine=installed_engine(), crew=lonely))
    assert [each.number for each, _ in results] == [1, 2]
    assert "no more processes" in caplog.text
    lonely.close()


def test_a_large_batch_goes_through_the_processes_of_the_application(
    tmp_path: Path, log: SqlDecisionLog
) -> None:
    settings = service_settings(tmp_path, APPROACH_BATCH_PROCESSES="2")
    client = create_app(settings, log=log).test_client()
    text = "\n".join(CASES * 5)
    assert text.count("\n") >= 64
    alone = answered(client, "\n".join(CASES)) * 5
    lines = answered(client, text)
    assert [line | {"line": None} for line in lines] == [line | {"line": None} for line in alone]
    assert [line["line"] for line in lines] == list(range(1, len(alone) + 1))
