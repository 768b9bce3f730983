"""The client against a real service, with a relay between them where the network is to fail."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from pathlib import Path
from typing import Any

import pytest

from decision.decide.decision import Verdict
from decision.options import EXIT_BAD_INPUT, EXIT_CODE
from service.client import Client, CutOff, NoAnswer, RequestRefused
from service.client.__main__ import main
from service.client.calls import Bounds, backoff_s
from service.settings import ROOT
from tests.case.builders import CASES, demo
from tests.client.relay import CUT, DROP, Refusal, Relay, relayed
from tests.door.builders import House, bearer
from tests.door.conftest import Built
from tests.faults.running import Running, free_port, running
from tests.service.builders import listening

SOON = Bounds(silence_s=20.0, patience_s=5.0, tries=4)
WATCHED = "XA WATCHED"
FOG = "SPECI XKAL 140614Z 26008KT 0300 R27R/0300N FG VV001 08/07 Q1013"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with running(tmp_path_factory.mktemp("client"), APPROACH_MOST_WATCHES="9") as started:
        yield started


@pytest.fixture
def relay(service: Running) -> Iterator[Relay]:
    with relayed(service.port) as between:
        yield between


@pytest.fixture
def client(relay: Relay) -> Iterator[Client]:
    with Client(relay.address, bounds=SOON) as made:
        yield made


def case(flight: str, name: str = "gear-stuck") -> dict[str, Any]:
    return {**demo(name), "flight_id": flight}


def decided(client: Client, flight: str) -> list[str]:
    return [each["id"] for each in client.history(flight)]


def test_a_case_is_decided_read_told_tried_and_decided_again(client: Client, relay: Relay) -> None:
    made = client.decide(case("XA 1"))
    assert made["verdict"] == "NO_GO"
    assert client.decision(made["id"]) == made
    assert "ACTION     DIVERT XTOR" in client.brief(made["id"])
    tried = client.what_if(made["id"], [{"fuel": {"on_board_kg": 9000}}])
    assert len(tried["varied"]) == 1
    later = client.again(made["id"], add_reports=[FOG])
    assert later["previous"] == made["id"]
    assert decided(client, "XA 1") == [later["id"], made["id"]]
    assert client.decide(case("XA 1"), record=False)["id"] is None
    assert client.post(
        "/v1/weather/decode", {"reports": [FOG], "received_at": "2026-03-14T06:15:00Z"}
    )
    assert relay.connections == 1, "one connection is used for all"


def test_history_goes_on_page_after_page(client: Client, relay: Relay) -> None:
    made = [client.decide(case("XA/2 b"))["id"] for _ in range(5)]
    relay.seen.clear()
    assert [each["id"] for each in client.history("XA/2 b", page=2)] == made[::-1]
    assert len(relay.seen) == 3


@pytest.mark.parametrize("deed", [DROP, CUT])
def test_a_recording_whose_answer_is_lost_is_sent_again_and_recorded_once(
    client: Client, relay: Relay, deed: str
) -> None:
    relay.deeds[:] = [deed, deed]
    made = client.decide(case(f"XA {deed}"))
    assert decided(client, f"XA {deed}") == [made["id"]]
    first, *others = relay.headers("Idempotency-Key")[:3]
    assert first is not None
    assert others == [first, first]


def test_two_recordings_have_two_keys(client: Client, relay: Relay) -> None:
    for _ in range(2):
        client.decide(case("XA 3"))
    assert len(set(relay.headers("Idempotency-Key"))) == 2
    assert len(decided(client, "XA 3")) == 2


@pytest.mark.parametrize("status", [429, 503])
def test_what_is_asked_for_later_is_sent_later(
    client: Client, relay: Relay, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited: list[float] = []
    monkeypatch.setattr(client._calls, "_sleep", waited.append)
    soon = format_datetime(datetime.now(UTC) + timedelta(seconds=3), usegmt=True)
    relay.deeds[:] = [
        Refusal(status=status, headers={"Retry-After": "2"}),
        Refusal(status=status, headers={"Retry-After": soon}),
        Refusal(status=status),
    ]
    assert client.get("/v1/profiles")
    assert waited[0] == 2.0
    assert 1.0 < waited[1] <= 3.0
    assert 0.0 < waited[2] <= 1.0


def test_nobody_waits_longer_than_asked(client: Client, relay: Relay) -> None:
    relay.deeds[:] = [Refusal(status=503, headers={"Retry-After": "3600"})]
    with pytest.raises(RequestRefused) as refused:
        client.decide(case("XA 4"))
    assert refused.value.status == 503
    assert len(relay.seen) == 1


def test_waits_grow_and_differ() -> None:
    assert all(0.125 <= backoff_s(1) <= 0.25 for _ in range(50))
    assert all(5.0 <= backoff_s(20) <= 10.0 for _ in range(50))
    assert len({backoff_s(3) for _ in range(50)}) > 40


def test_what_is_wrong_is_not_sent_again_and_is_told(client: Client, relay: Relay) -> None:
    with pytest.raises(RequestRefused) as refused:
        client.decide(case("XA 5") | {"colour": "red"})
    assert refused.value.status == 422
    assert any("/colour" in line for line in refused.value.lines)
    assert len(relay.seen) == 1


def test_what_is_unchanged_is_not_sent_again(client: Client, relay: Relay) -> None:
    first = client.get("/v1/profiles")
    assert client.get("/v1/profiles") == first
    tags = relay.headers("If-None-Match")
    assert tags[0] is None
    assert tags[1] is not None


def test_where_nobody_listens_there_is_no_answer() -> None:
    nowhere = Client(
        f"http://127.0.0.1:{free_port()}", bounds=Bounds(patience_s=0.5, silence_s=1.0)
    )
    with pytest.raises(NoAnswer):
        nowhere.get("/v1/profiles")


def test_a_service_that_says_nothing_is_not_waited_for_longer_than_asked() -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        bounds = Bounds(silence_s=0.2, patience_s=0.3, tries=2)
        client = Client(f"http://127.0.0.1:{silent.getsockname()[1]}", bounds=bounds)
        with pytest.raises(NoAnswer):
            client.decide(case("XA 6"))


def test_what_is_no_json_is_no_answer(client: Client, relay: Relay) -> None:
    relay.deeds[:] = [Refusal(status=200, content=b"<html>")]
    with pytest.raises(NoAnswer):
        client.decide(case("XA 7"))


# --- many ---


def test_a_batch_comes_line_by_line_in_order(client: Client) -> None:
    cases = [case(f"XB {number}") for number in range(3)]
    lines = list(client.batch([*cases, b'{"flight_id":\n 1}']))
    assert [line.get("flight_id") for line in lines] == ["XB 0", "XB 1", "XB 2", None]
    assert lines[3]["status"] == 422
    rows = list(client.batch(cases, view="rows"))
    assert [row["verdict"] for row in rows] == ["NO_GO"] * 3


def test_a_recorded_batch_that_is_sent_again_is_recorded_once(client: Client, relay: Relay) -> None:
    relay.deeds[:] = [DROP]
    lines = list(client.batch([case("XB 9")], record=True))
    assert decided(client, "XB 9") == [lines[0]["id"]]


def test_a_batch_that_is_cut_off_is_not_taken_for_whole(client: Client, relay: Relay) -> None:
    relay.deeds[:] = [CUT]
    came: list[dict[str, Any]] = []
    with pytest.raises(CutOff):
        came.extend(client.batch([case(f"XB {number}") for number in range(8)]))
    assert 0 < len(came) < 8


def test_a_batch_without_its_last_line_is_not_taken_for_whole(client: Client, relay: Relay) -> None:
    for content in (b"", b'{"line":1}\n', b'{"line":1}\n{"end":true,"count":2}\n'):
        relay.deeds[:] = [Refusal(status=200, content=content)]
        with pytest.raises(CutOff):
            list(client.batch([case("XB 10")]))


# --- watching ---


def test_a_change_of_a_watched_decision_is_told_over_the_stream(service: Running) -> None:
    until = (datetime.now(UTC) + timedelta(hours=1)).strftime("%Y-%m-%dT%H:%M:%SZ")
    with Client(service.address) as client:
        made = client.decide({**demo("gear-stuck"), "flight_id": WATCHED})
        watch = client.watch(made["id"], until=until)
        events = client.events(flights=[WATCHED])
        first = told(events, watch["id"])
        assert first.event_id is not None
        assert first.data["flight_id"] == WATCHED
        taken = client.hand_in([f"METAR XKAL {datetime.now(UTC):%d%H%M}Z 26008KT 9999 BKN020"])
        assert taken
        patch = {"fuel": {"on_board_kg": 5200}, "destination": {"track_nm": 30}}
        assert client.give_state(watch["id"], patch)["id"] == watch["id"]
        second = told(events, watch["id"])
        assert second.event_id != first.event_id
        again = client.events(watches=[watch["id"]], last_event_id=first.event_id)
        assert told(again, watch["id"]).data == second.data, "from where the caller was"
        events.close()
        again.close()
        assert client.end_watch(watch["id"])["ended_at"] is not None
        with pytest.raises(RequestRefused):
            client.give_state(watch["id"], patch)


def told(events: Any, watch_id: str) -> Any:
    """The next event of a watch that is no present state alone."""
    for each in events:
        if each.data.get("watch_id") == watch_id and each.kind != "reset":
            return each
    raise AssertionError("the stream has ended")


# --- keys ---


def test_a_key_is_sent_and_only_where_it_is_safe(build: Built) -> None:
    house: House = build()
    key = house.key()
    with listening(house.app) as address, Client(address, key=key.text) as client:
        assert client.get("/v1/profiles")
        with Client(address) as stranger, pytest.raises(RequestRefused) as refused:
            stranger.get("/v1/profiles")
    assert refused.value.status == 401
    assert bearer(key)["Authorization"].endswith(key.text)
    with pytest.raises(ValueError, match="https"):
        Client("http://192.0.2.1", key=key.text)
    Client("http://192.0.2.1", key=key.text, plain_http=True).close()
    Client("https://192.0.2.1", key=key.text).close()
    for wrong in ("ftp://a", "a", "http://", "http://a?b"):
        with pytest.raises(ValueError, match="address"):
            Client(wrong)


def test_a_limit_is_waited_out(build: Built) -> None:
    house: House = build(APPROACH_REQUESTS_PER_MINUTE="2")
    key = house.key()
    with listening(house.app) as address, Client(address, key=key.text) as client:
        waited: list[float] = []

        def sleep(seconds: float) -> None:
            waited.append(seconds)
            house.time.pass_by(seconds=seconds)

        client._calls._sleep = sleep
        for path in ("/v1/profiles", "/v1/rulebooks", "/v1/aerodromes"):
            assert client.get(path)
    assert waited == [30.0]


# --- the command ---


def asked(*arguments: str, stdin: str = "", **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "service.client", *arguments],
        env=environment,
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_command_prints_the_brief_and_ends_with_the_verdict(service: Running) -> None:
    done = asked("-", stdin=json.dumps(demo("gear-stuck")), DECISION_SERVER=service.address)
    assert (done.returncode, done.stderr) == (20, "")
    assert "ACTION     DIVERT XTOR" in done.stdout


@pytest.mark.parametrize(
    ("name", "code"), [("clean", 0), ("escape-thin", 10), ("alternate-weather-missing", 30)]
)
def test_each_verdict_has_its_code(
    service: Running, name: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--json", "--server", service.address, str(CASES / f"{name}.json")], {}) == code
    assert EXIT_CODE[json.loads(capsys.readouterr().out)["verdict"]] == code


def test_every_verdict_has_a_code_and_no_failure_has_one_of_them() -> None:
    assert set(EXIT_CODE) == {each.value for each in Verdict}
    assert not set(EXIT_CODE.values()) & {64, 69, 76, 77, 1, 2}


@pytest.mark.parametrize(
    ("text", "word"),
    [("{", "not JSON"), ("[]", "a case is a JSON object"), ('{"colour": 1}', "/colour")],
)
def test_what_is_no_case_is_bad_input(
    service: Running, text: str, word: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "case.json"
    file.write_text(text)
    assert main(["--server", service.address, str(file)], {}) == EXIT_BAD_INPUT
    told = capsys.readouterr()
    assert word in told.err
    assert told.out == ""


def test_what_is_no_decision_has_a_code_of_its_own(
    relay: Relay, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = str(CASES / "gear-stuck.json")
    for deed, code in [
        (Refusal(status=401), 77),
        (Refusal(status=500), 69),
        (Refusal(status=200, content=b'{"verdict": "FINE"}'), 76),
        (Refusal(status=200, content=b"[]"), 69),
        (Refusal(status=200, content=b"no"), 69),
    ]:
        relay.deeds[:] = [deed]
        assert main(["--server", relay.address, file], {}) == code
        assert capsys.readouterr().out == ""
    assert main(["--server", "nowhere", file], {}) == 64
    assert main([str(tmp_path / "not there")], {}) == 64


def test_the_key_comes_from_the_environment_or_a_file(
    relay: Relay, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, case_file = tmp_path / "key", str(CASES / "clean.json")
    file.write_text("of-a-file\n")
    call = ["--json", "--server", relay.address, case_file]
    assert main(call, {"DECISION_KEY": "of-the-environment"}) == 0
    assert main(call, {"DECISION_KEY_FILE": str(file)}) == 0
    assert main(["--key-file", str(file), *call], {"DECISION_KEY": "other"}) == 0
    assert relay.headers("Authorization") == [
        "Bearer of-the-environment",
        "Bearer of-a-file",
        "Bearer of-a-file",
    ]
    assert main(call, {"DECISION_KEY": "a", "DECISION_KEY_FILE": str(file)}) == 64
    file.write_text("\n")
    assert main(call, {"DECISION_KEY_FILE": str(file)}) == 64
    assert "no key in it" in capsys.readouterr().err


def test_the_lines_of_the_readme_do_what_they_say(
    service: Running, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8").partition("## From Python")[2]
    code = "\n".join(line[4:] for line in text.partition("`client.watch(")[0].splitlines())
    code = code[code.index("import json") :].replace("http://127.0.0.1:8080", service.address)
    exec(compile(code, "README.md", "exec"), {})  # noqa: S102 - our own page
    told = capsys.readouterr().out
    assert told.startswith("NO_GO VENTO 318")
    assert told.endswith("1 NO_GO\n2 NO_GO\n")
