from __future__ import annotations

import gc
import json
import logging
import os
import runpy
import signal
import socket
import subprocess
import sys
import tempfile
import urllib.error
import urllib.parse
import urllib.request
import warnings
from collections.abc import Iterator
from http.client import HTTPResponse
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from decision.profile import profile_ids
from service import demo
from service.alive import is_ready, post_case, wait_until_ready
from service.observing import JsonLines, log_to
from service.settings import ROOT, SETTINGS
from service.shared_counts import SHARED_FOLDER, forget_shared
from service.wsgi import application
from tests.case.builders import CASES
from tests.faults.running import free_port
from tests.service.builders import body, listening

GEAR_STUCK = CASES / "gear-stuck.json"
BODY = json.dumps(body()).encode()
START_S = 120


@pytest.fixture
def address(app: Flask) -> Iterator[str]:
    """The application behind a real socket."""
    with listening(app) as at:
        yield at


@pytest.fixture
def quiet_logging() -> Iterator[None]:
    """Put the process's logging back as it was."""
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    yield
    logging.captureWarnings(capture=False)
    for handler in root.handlers[:]:
        root.removeHandler(handler)
    for handler in handlers:
        root.addHandler(handler)
    root.setLevel(level)


def environment(tmp_path: Path, **more: str) -> dict[str, str]:
    """A bare environment: no home, nothing of ours but a store in a folder of the test."""
    return {
        "PATH": os.environ["PATH"],
        "HOME": "",
        "APPROACH_STORE": f"sqlite:///{tmp_path / 'd.sqlite3'}",
        "APPROACH_WORKERS": "1",
        "APPROACH_MOST_WATCHES": "0",
        **more,
    }


def test_the_client_waits_posts_and_prints(
    address: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    case = tmp_path / "case.json"
    case.write_bytes(BODY)
    assert demo.main(["wait", address, str(os.getpid())]) == 0
    assert demo.main(["post", address, str(case)]) == 0
    assert capsys.readouterr().out.startswith("NO_GO: Divert now")
    assert post_case(address, BODY, accept="application/json").startswith('{"id":')


def test_a_refused_case_is_shown_as_the_service_refused_it(
    address: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    case = tmp_path / "case.json"
    case.write_text("{}")
    assert demo.main(["post", address, str(case)]) == 1
    assert "/problems/invalid-request" in capsys.readouterr().err


def test_waiting_ends_when_the_time_is_over_or_the_process_is() -> None:
    nobody = f"http://127.0.0.1:{free_port()}"
    assert not is_ready(nobody)
    assert not wait_until_ready(nobody, seconds=0.2)
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    assert demo.main(["wait", nobody, str(ended.pid)]) == 1


def test_a_port_in_use_is_noticed(address: str) -> None:
    assert demo.main(["check-port", address.rsplit(":", 1)[1]]) == 1
    assert demo.main(["check-port", str(free_port())]) == 0
    assert demo.main(["check-port", "70000"]) == 1


def test_the_health_check_asks_the_port_of_the_settings(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for port, code in ((address.rsplit(":", 1)[1], 0), (str(free_port()), 1)):
        monkeypatch.setenv("APPROACH_PORT", port)
        monkeypatch.delitem(sys.modules, "service.healthcheck", raising=False)
        with pytest.raises(SystemExit) as ended:
            runpy.run_module("service.healthcheck", run_name="__main__")
        assert ended.value.code == code


@pytest.fixture
def called_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """`python -m service` without an option."""
    monkeypatch.setattr(sys, "argv", ["service"])


@pytest.mark.parametrize(("option", "code"), [("--help", 0), ("--colour", 64), ("8080", 64)])
def test_the_service_is_called_without_options_and_says_so(
    option: str,
    code: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(sys, "argv", ["service", option])
    with pytest.raises(SystemExit) as stopped:
        runpy.run_module("service", run_name="__main__")
    assert stopped.value.code == code
    assert "usage: python -m service [-h]" in "".join(capsys.readouterr())


def test_help_names_every_setting(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["service", "--help"])
    with pytest.raises(SystemExit):
        runpy.run_module("service", run_name="__main__")
    told = capsys.readouterr().out
    assert SETTINGS
    assert [each.variable for each in SETTINGS if f"\n  {each.variable}\n" not in told] == []


@pytest.mark.usefixtures("called_alone")
def test_the_service_becomes_the_server(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    replaced: list[Any] = []
    monkeypatch.setenv(SHARED_FOLDER, str(tmp_path))
    monkeypatch.setattr(os, "execv", lambda *arguments: replaced.append(arguments))
    runpy.run_module("service", run_name="__main__")
    [(program, arguments)] = replaced
    assert program == sys.executable
    assert arguments[-1] == "service.wsgi:application()"


@pytest.mark.usefixtures("called_alone")
def test_processes_count_in_a_folder_made_for_the_run_and_deleted_after_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(os, "execv", lambda *_arguments: None)
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setenv(SHARED_FOLDER, "")  # so that it is put back afterwards
    monkeypatch.delenv(SHARED_FOLDER)
    runpy.run_module("service", run_name="__main__")
    folder = Path(os.environ[SHARED_FOLDER])
    assert folder.parent == tmp_path
    assert folder.is_dir()
    forget_shared()
    assert not folder.exists()


def test_a_folder_that_was_given_for_counting_is_left_alone(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(SHARED_FOLDER, str(tmp_path))
    runpy.run_module("service.server")["on_exit"](None)
    assert tmp_path.is_dir()


def test_what_was_loaded_before_a_worker_is_no_garbage_of_it() -> None:
    before = gc.get_freeze_count()
    try:
        runpy.run_module("service.server")["pre_fork"](None, None)
        assert gc.get_freeze_count() > before
    finally:
        gc.unfreeze()


SETTING_OUT = """
import runpy, sys, os
os.execv = lambda *_arguments: None
sys.argv = ["service"]
runpy.run_module("service", run_name="__main__")
print(*sorted({"flask", "numpy", "prometheus_client", "sqlalchemy"} & sys.modules.keys()))
from service.wsgi import application
application()
print(*sorted({"alembic", "flask"} & sys.modules.keys()))
"""


def test_a_start_loads_nothing_that_it_does_not_need(tmp_path: Path) -> None:
    settings = environment(tmp_path, PYTHONPATH=str(ROOT), TMPDIR=str(tmp_path))
    settings["APPROACH_LOG_LEVEL"] = "ERROR"
    starts = [
        subprocess.run(
            [sys.executable, "-c", SETTING_OUT], env=settings, capture_output=True, check=True
        )
        for _ in range(2)
    ]
    assert starts[0].stdout.decode() == "\nalembic flask\n"  # which makes the store
    assert starts[1].stdout.decode() == "\nflask\n"


@pytest.mark.usefixtures("called_alone")
def test_wrong_settings_are_said_before_the_server_starts(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("APPROACH_COLOUR", "red")
    with pytest.raises(SystemExit) as stopped:
        runpy.run_module("service", run_name="__main__")
    assert stopped.value.code == 2
    assert capsys.readouterr().err == "APPROACH_COLOUR: no such setting\n"


def test_the_server_is_set_up_from_the_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in {"PORT": "9123", "HOST": "127.0.0.2", "WORKERS": "3"}.items():
        monkeypatch.setenv(f"APPROACH_{name}", value)
    server = runpy.run_module("service.server")
    assert (server["bind"], server["workers"]) == ("127.0.0.2:9123", 3)
    assert server["control_socket_disable"] is True
    assert server["graceful_timeout"] < 30


@pytest.mark.usefixtures("quiet_logging")
def test_the_wsgi_entry_makes_an_application_from_the_environment(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("APPROACH_STORE", f"sqlite:///{tmp_path / 'd.sqlite3'}")
    client = application().test_client()
    assert client.get("/readyz").get_json()["profiles"] == list(profile_ids())
    case = json.loads(GEAR_STUCK.read_bytes())
    assert client.post("/v1/decisions", json=case).get_json()["verdict"] == "NO_GO"


@pytest.mark.usefixtures("quiet_logging")
def test_a_log_line_is_one_json_object_with_its_fields() -> None:
    stream = StringIO()
    log_to(stream, level="INFO")
    logging.getLogger("any").info("done\nwell", extra={"fields": {"n": 3}})
    logging.getLogger("any").error("failed", exc_info=ValueError("why"))
    with warnings.catch_warnings():
        warnings.simplefilter("always")
        warnings.warn("careful", UserWarning, stacklevel=1)
    first, second, third = (json.loads(line) for line in stream.getvalue().splitlines())
    assert (first["event"], first["n"], first["level"]) == ("done\nwell", 3, "INFO")
    assert "ValueError: why" in second["traceback"]
    assert "careful" in third["event"]
    assert "traceback" not in first


def test_a_line_without_fields_is_a_line() -> None:
    record = logging.LogRecord("n", logging.INFO, "f", 1, "%s", ("x",), None)
    assert json.loads(JsonLines().format(record))["event"] == "x"


def run_sh(tmp_path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", ROOT / "service" / "run.sh", *arguments],
        cwd=tmp_path,
        env=environment(tmp_path),
        capture_output=True,
        text=True,
        timeout=START_S,
        check=False,
    )


def test_run_sh_decides_the_demo_case_and_stops(tmp_path: Path) -> None:
    port = free_port()
    ran = run_sh(tmp_path, "--once", "--port", str(port))
    assert ran.returncode == 0, ran.stderr
    assert "NO-GO" in ran.stdout.replace("NO GO", "NO-GO").replace("NO_GO", "NO-GO")
    assert max(map(len, ran.stdout.splitlines())) <= 80
    assert demo.check_port(str(port)) == 0


def test_run_sh_says_when_the_port_is_in_use(tmp_path: Path, address: str) -> None:
    ran = run_sh(tmp_path, "--once", "--port", address.rsplit(":", 1)[1])
    assert ran.returncode == 1
    assert "is in use; choose another one with --port" in ran.stderr


@pytest.mark.parametrize("arguments", [("--port",), ("--port", "x"), ("--colour",)])
def test_run_sh_refuses_what_it_does_not_know(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    ran = run_sh(tmp_path, *arguments)
    assert ran.returncode == 1
    assert ran.stderr.startswith("error: ")


def test_run_sh_serves_until_it_is_stopped_and_leaves_nothing_running(tmp_path: Path) -> None:
    port = free_port()
    running = subprocess.Popen(
        ["sh", ROOT / "service" / "run.sh", "--port", str(port)],
        cwd=tmp_path,
        env=environment(tmp_path),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert running.stdout is not None
    printed = ""
    while "Ctrl-C stops it." not in printed:
        line = running.stdout.readline()
        assert line, printed
        printed += line
    assert f"http://127.0.0.1:{port}/v1/decisions" in printed
    assert is_ready(f"http://127.0.0.1:{port}")
    running.send_signal(signal.SIGTERM)
    running.communicate(timeout=30)
    assert running.returncode == 143
    assert demo.check_port(str(port)) == 0


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The service as it is run: gunicorn, two workers, a store in a file."""
    folder, port = tmp_path_factory.mktemp("served"), free_port()
    settings = environment(folder, APPROACH_PORT=str(port), APPROACH_MAX_BODY_BYTES="20000")
    settings |= {"APPROACH_WORKERS": "2", "APPROACH_BATCH_PROCESSES": "2", "TMPDIR": str(folder)}
    address = f"http://127.0.0.1:{port}"
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(
            [sys.executable, "-m", "service"], cwd=ROOT, env=settings, stdout=log, stderr=log
        )
        assert wait_until_ready(address, seconds=START_S), (folder / "log").read_text()
        yield address
        process.terminate()
        assert process.wait(30) == 0
    assert not [*folder.glob("approach-metrics-*")]
    lines = [json.loads(line) for line in (folder / "log").read_text().splitlines()]
    assert {"request"} <= {line["event"] for line in lines}
    assert not [line for line in lines if "traceback" in line]


def test_a_decision_of_one_worker_is_read_from_any(served: str) -> None:
    answer = json.loads(post_case(served, GEAR_STUCK.read_bytes(), accept="application/json"))
    for _ in range(8):
        with urllib.request.urlopen(f"{served}/v1/decisions/{answer['id']}", timeout=30) as read:
            assert json.loads(read.read()) == answer


LINE = json.dumps(json.loads(GEAR_STUCK.read_bytes())).encode() + b"\n"


def test_a_large_batch_is_decided_by_the_processes_of_a_worker(served: str) -> None:
    request = urllib.request.Request(
        f"{served}/v1/decisions/batch",
        data=LINE * 70,
        headers={"Content-Type": "application/x-ndjson"},
    )
    with urllib.request.urlopen(request, timeout=120) as answer:
        *decided, end = answer.read().splitlines()
    assert json.loads(end) == {"end": True, "count": 70}
    assert [json.loads(line)["line"] for line in decided] == list(range(1, 71))
    assert len({line.partition(b'"ref":')[2] for line in decided}) == 1


def test_the_service_goes_on_when_the_caller_of_a_batch_hangs_up(served: str) -> None:
    host, _, port = served.removeprefix("http://").partition(":")
    body = LINE * 500
    with socket.create_connection((host, int(port)), timeout=60) as caller:
        caller.sendall(
            b"POST /v1/decisions/batch HTTP/1.1\r\nHost: x\r\n"
            b"Content-Type: application/x-ndjson\r\n"
            b"Content-Length: %d\r\n\r\n" % len(body)
        )
        caller.sendall(body)
        assert caller.recv(100).startswith(b"HTTP/1.1 200 OK")
    assert is_ready(served)


def test_the_counts_of_both_workers_are_one(served: str) -> None:
    def counted() -> float:
        with urllib.request.urlopen(f"{served}/metrics", timeout=30) as answer:
            lines = answer.read().decode().splitlines()
        name = "approach_http_request_seconds_count"
        [line] = [line for line in lines if line.startswith(name) and "/healthz" in line]
        return float(line.rpartition(" ")[2])

    def health() -> None:
        with urllib.request.urlopen(f"{served}/healthz", timeout=30) as answer:
            assert answer.status == 200

    health()
    before = counted()
    for _ in range(20):
        health()
        counted()
    assert counted() == before + 20


def test_a_body_in_chunks_is_bounded_too(served: str) -> None:
    chunks = (b" " * 10_000 for _ in range(3))
    request = urllib.request.Request(
        f"{served}/v1/decisions", data=chunks, headers={"Content-Type": "application/json"}
    )
    with pytest.raises(urllib.error.URLError) as refused:
        urllib.request.urlopen(request, timeout=30)
    if isinstance(refused.value, urllib.error.HTTPError):  # else cut off while still sending
        assert refused.value.code == 413
        assert json.loads(refused.value.read())["type"] == f"{served}/problems/too-large"


def raw(address: str, request: bytes, *, hang_up: bool = False) -> tuple[int, str, bytes]:
    """Status, media type and body of the answer to bytes that no client would send."""
    host, _, port = address.removeprefix("http://").partition(":")
    with socket.create_connection((host, int(port)), timeout=60) as caller:
        caller.sendall(request)
        if hang_up:
            caller.shutdown(socket.SHUT_WR)
        answer = HTTPResponse(caller)
        answer.begin()
        return answer.status, answer.headers.get_content_type(), answer.read()


POST = b"POST /v1/decisions%b HTTP/1.1\r\nHost: x\r\nConnection: close\r\nContent-Type: %b\r\n"
CHUNKED = b"Transfer-Encoding: chunked\r\n\r\n"
BODIES = [(b"", b"application/json"), (b"/batch", b"application/x-ndjson")]


@pytest.mark.parametrize("chunks", [b"zz\r\n{}\r\n0\r\n\r\n", b"2\r\n{}XX0\r\n\r\n"])
@pytest.mark.parametrize(("where", "kind"), BODIES)
def test_malformed_chunks_are_a_bad_request(
    served: str, chunks: bytes, where: bytes, kind: bytes
) -> None:
    status, form, content = raw(served, POST % (where, kind) + CHUNKED + chunks)
    assert (status, form) == (400, "application/problem+json")
    assert json.loads(content)["type"] == "http://x/problems/bad-request"


@pytest.mark.parametrize("came", [0, 1, len(LINE), 2 * len(LINE) + 100, 5 * len(LINE) - 1])
@pytest.mark.parametrize(("where", "kind"), [BODIES[0], (b"/batch?record=true", BODIES[1][1])])
def test_a_body_that_was_cut_off_is_refused_and_nothing_of_it_is_recorded(
    served: str, where: bytes, kind: bytes, came: int
) -> None:
    """Whole lines came, or a whole case before some blanks: it might read as what was meant."""
    flight = f"CUT {came} {len(kind)}"
    line = json.dumps(json.loads(LINE) | {"flight_id": flight}).encode() + b"\n"
    whole = line * 5 if b"batch" in where else line.ljust(5 * len(line))
    head = POST % (where, kind) + b"Content-Length: %d\r\n\r\n" % len(whole)
    status, form, content = raw(served, head + whole[:came], hang_up=True)
    assert (status, form) == (400, "application/problem+json")
    assert json.loads(content)["detail"] == (
        f"The body is cut off: {came} of {len(whole)} bytes came."
    )
    path = f"/v1/flights/{urllib.parse.quote(flight)}/decisions"
    assert json.loads(raw(served, GET % path[1:].encode() + b"\r\n")[2])["decisions"] == []


GET = b"GET /%b HTTP/1.1\r\nHost: x\r\nConnection: close\r\n"
REFUSED_BY_THE_SERVER = {
    "address": (GET % (b"a" * 5000) + b"\r\n", 414),
    "long field": (GET % b"healthz" + b"X: " + b"a" * 9000 + b"\r\n\r\n", 431),
    "many fields": (
        GET % b"healthz" + b"".join(b"X-%d: 1\r\n" % n for n in range(200)) + b"\r\n",
        431,
    ),
    "field name": (GET % b"healthz" + b"X y: 1\r\n\r\n", 400),
    "method": (b"g@t /healthz HTTP/1.1\r\nHost: x\r\n\r\n", 400),
    "version": (b"GET /healthz HTTP/9.9\r\nHost: x\r\n\r\n", 400),
    "no HTTP": (b"hello\r\n\r\n", 400),
    "length": (POST % BODIES[0] + b"Content-Length: -1\r\n\r\n", 400),
    "two lengths": (POST % BODIES[0] + b"Content-Length: 2\r\n" + CHUNKED + b"0\r\n\r\n", 400),
    # RFC 9112, section 6.1: a coding that the server does not have is 501.
    "transfer coding": (POST % BODIES[0] + b"Transfer-Encoding: zip\r\n\r\n", 501),
    "expectation": (POST % BODIES[0] + b"Expect: much\r\nContent-Length: 2\r\n\r\n{}", 417),
}


@pytest.mark.parametrize(
    ("request_bytes", "status"), REFUSED_BY_THE_SERVER.values(), ids=REFUSED_BY_THE_SERVER.keys()
)
def test_what_the_server_refuses_before_the_application_is_a_bare_error_of_the_request(
    served: str, request_bytes: bytes, status: int
) -> None:
    assert raw(served, request_bytes)[0] == status


@pytest.mark.parametrize("host", [b"a b<>", b"", b"[", b"e\xff", b"a/b"])
def test_a_host_that_is_none_is_refused(served: str, host: bytes) -> None:
    request = b"GET /none HTTP/1.1\r\nHost: " + host + b"\r\nConnection: close\r\n\r\n"
    assert raw(served, request)[0] == 400


def test_a_host_with_a_port_that_is_none_makes_no_failure(served: str) -> None:
    request = b"GET /none HTTP/1.1\r\nHost: x:99999\r\nConnection: close\r\n\r\n"
    status, form, content = raw(served, request)
    assert (status, form) == (404, "application/problem+json")
    assert json.loads(content)["type"].endswith("/problems/not-found")


def test_a_flight_with_a_slash_in_its_name_is_reached(served: str) -> None:
    flight = "A/1//B. +C"
    case = json.loads(GEAR_STUCK.read_bytes()) | {"flight_id": flight}
    answer = json.loads(post_case(served, json.dumps(case).encode(), accept="application/json"))
    path = urllib.parse.quote(flight, safe="")
    with urllib.request.urlopen(f"{served}/v1/flights/{path}/decisions", timeout=30) as read:
        told = json.loads(read.read())
    assert told["flight_id"] == flight
    assert [each["id"] for each in told["decisions"]] == [answer["id"]]


def test_a_log_line_can_be_looked_at_whatever_it_tells() -> None:
    """JSON writes out C0; ASCII the rest of them; DEL neither."""
    record = logging.LogRecord("a", logging.INFO, "", 0, "\x1b[2J\n\x7f\x9b\u202e", (), None)
    line = JsonLines().format(record)
    assert line.isprintable()
    assert line.isascii()
    assert json.loads(line)["event"] == record.getMessage()


def test_data_that_are_wrong_end_the_start_with_the_file_and_the_problem(tmp_path: Path) -> None:
    (tmp_path / "XBAD.toml").write_text('source = "invented"', encoding="utf-8")
    ended = subprocess.run(
        [sys.executable, "-m", "service"],
        env=os.environ
        | {
            "APPROACH_AERODROMES": str(tmp_path),
            "APPROACH_STORE": f"sqlite:///{tmp_path / 'decisions.sqlite3'}",
            "APPROACH_PORT": str(free_port()),
            "PYTHONPATH": str(ROOT),
        },
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ended.returncode == 2
    assert ended.stderr.splitlines()[-1] == "XBAD.toml: version: is required"
