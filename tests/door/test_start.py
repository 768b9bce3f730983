"""The start: where the service can be reached, it does not start unless somebody has a key."""

from __future__ import annotations

import json
import os
import runpy
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from service import healthcheck
from service.door import opening
from service.door.opening import prepare
from service.keytext import KeyText, new_key
from service.settings import ROOT, SettingsError
from service.store import StoreUnavailable
from tests.door.builders import OUTSIDE, PROXIED, House, Time, bearer
from tests.door.conftest import Built
from tests.faults.running import free_port
from tests.service.builders import listening, service_settings

START_S = 120


def environment(folder: Path, **more: str) -> dict[str, str]:
    return {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "APPROACH_STORE": f"sqlite:///{folder / 'decisions.sqlite3'}",
        "APPROACH_WORKERS": "1",
        **more,
    }


def started(folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    """A service that is expected not to start."""
    return subprocess.run(
        [sys.executable, "-m", "service"],
        cwd=folder,
        env=environment(folder, **more),
        capture_output=True,
        text=True,
        check=False,
        timeout=START_S,
    )


def test_bound_elsewhere_without_a_key_the_service_does_not_start_and_says_what_to_do(
    tmp_path: Path,
) -> None:
    ended = started(tmp_path, **OUTSIDE)
    assert (ended.returncode, ended.stdout) == (2, "")
    assert "nobody could call" in ended.stderr
    assert "python -m service.keys create" in ended.stderr
    assert "APPROACH_ADMIN_KEY_FILE" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_another_server_does_not_start_it_either(tmp_path: Path) -> None:
    ended = subprocess.run(
        [sys.executable, "-c", "from service.wsgi import application; application()"],
        cwd=tmp_path,
        env=environment(tmp_path, **OUTSIDE),
        capture_output=True,
        text=True,
        check=False,
        timeout=START_S,
    )
    assert ended.returncode == 1
    assert "nobody could call" in ended.stderr


@contextmanager
def running(folder: Path, **more: str) -> Iterator[tuple[str, Path]]:
    """A real server on loopback behind a door; its address and its log."""
    port, log = free_port(), folder / "service.log"
    given = environment(folder, APPROACH_PORT=str(port), **more)
    with log.open("wb") as out:
        server = subprocess.Popen(
            [sys.executable, "-m", "service"], cwd=folder, env=given, stdout=out, stderr=out
        )
    try:
        wait_for(f"http://127.0.0.1:{port}/healthz", server, log)
        yield f"http://127.0.0.1:{port}", log
    finally:
        server.terminate()
        server.wait(30)


def wait_for(url: str, server: subprocess.Popen[bytes], log: Path) -> None:
    import time

    until_s = time.monotonic() + START_S
    while time.monotonic() < until_s and server.poll() is None:
        try:
            status(url)
        except OSError:
            time.sleep(0.1)
        else:
            return
    pytest.fail(log.read_text())


def status(url: str, headers: dict[str, str] | None = None) -> int:
    """The status of an answer from a real server."""
    request = urllib.request.Request(url, headers={"Host": "ops.example"} | (headers or {}))
    try:
        with urllib.request.urlopen(request, timeout=30) as answer:
            code: int = answer.status
    except urllib.error.HTTPError as error:
        return error.code
    return code


def test_a_real_server_asks_for_a_key_and_a_name_and_logs_neither_secret(tmp_path: Path) -> None:
    key, file = new_key(os.urandom), tmp_path / "admin_key"
    file.write_text(f"{key.text}\n")
    with running(tmp_path, **PROXIED, APPROACH_ADMIN_KEY_FILE=str(file)) as (address, log):
        read = f"{address}/v1/profiles"
        assert status(read) == 401
        assert status(read, bearer(key)) == 200
        assert status(f"{address}/v1/audit", bearer(key)) == 200
        assert status(read, bearer(new_key(os.urandom))) == 401
        assert status(read, bearer(key) | {"Host": "evil.example"}) == 421
        assert status(f"{address}/metrics") == 401
        assert status(read, {"X-Verified-User": "ann"}) == 200
        assert status(read, {"X-Verified-User": "ann, bob"}) == 401
        assert status(read, {"X_Verified_User": "ann"}) == 401, "another spelling is dropped"
        lines = [json.loads(each) for each in log.read_text().splitlines() if each[0] == "{"]
        callers = {each.get("caller") for each in lines if each.get("event") == "request"}
        assert callers == {None, f"key:{key.identifier}", "user:ann"}
        assert key.text not in log.read_text()


# --- what is prepared ---


def test_a_key_is_enough_and_one_that_has_ended_is_not(build: Built) -> None:
    there = build()
    with pytest.raises(SettingsError, match="nobody could call"):
        prepare(there.settings, clock=there.time.clock)
    key = there.key(expires_at=Time().at.replace(day=1, month=2))
    prepare(there.settings, clock=there.time.clock)
    there.time.pass_by(days=1)
    with pytest.raises(SettingsError):
        prepare(there.settings, clock=there.time.clock)
    other = there.key()
    prepare(there.settings, clock=there.time.clock)
    there.access.revoke(other.identifier, by="test", at=there.time.at)
    with pytest.raises(SettingsError):
        prepare(there.settings, clock=there.time.clock)
    assert key.identifier != other.identifier


def test_a_proxy_that_names_callers_is_enough_and_one_that_does_not_is_not(tmp_path: Path) -> None:
    prepare(service_settings(tmp_path, **PROXIED))
    without = {each: value for each, value in PROXIED.items() if "IDENTITY" not in each}
    with pytest.raises(SettingsError, match="nobody could call"):
        prepare(service_settings(tmp_path, **without))


def first_key(build: Built) -> tuple[KeyText, House]:
    key = new_key(os.urandom)
    return key, build(OUTSIDE, APPROACH_ADMIN_KEY=key.text)


def test_the_key_of_the_settings_opens_everything_and_is_kept_once(build: Built) -> None:
    key, there = first_key(build)
    for _ in range(2):
        prepare(there.settings, clock=there.time.clock)
    for path in ("/v1/audit", "/v1/profiles"):
        assert there.asked(path, key).status_code == 200
    assert [each.scopes for each in there.access.all_keys()] == ["decide read admin"]


def test_the_key_of_the_settings_stays_taken_back(build: Built) -> None:
    key, there = first_key(build)
    prepare(there.settings)
    there.access.revoke(key.identifier, by="test", at=there.time.at)
    with pytest.raises(SettingsError, match="nobody could call"):
        prepare(there.settings)
    assert there.asked("/v1/profiles", key).status_code == 401


def test_another_secret_for_a_key_of_the_settings_is_named(build: Built) -> None:
    key, there = first_key(build)
    prepare(there.settings)
    other = new_key(os.urandom, identifier=key.identifier)
    with pytest.raises(SettingsError, match="there with another secret"):
        prepare(build(OUTSIDE, APPROACH_ADMIN_KEY=other.text).settings)


def test_on_loopback_nothing_is_prepared(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "bring_up_to_date", lambda *_, **__: pytest.fail("asked"))
    prepare(service_settings(tmp_path / "none"))
    assert not (tmp_path / "none").exists()


def test_a_store_that_does_not_answer_is_named_at_the_start(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def gone(*_: object, **__: object) -> None:
        raise StoreUnavailable("no such host")

    monkeypatch.setattr(opening, "bring_up_to_date", gone)
    monkeypatch.setattr(sys, "argv", ["service"])
    for name, value in environment(tmp_path, **OUTSIDE).items():
        monkeypatch.setenv(name, value)
    with pytest.raises(SystemExit) as ended:
        runpy.run_module("service", run_name="__main__")
    assert ended.value.code == 2
    assert "APPROACH_STORE: no such host" in capsys.readouterr().err


# --- its own look at itself ---


def checked(monkeypatch: pytest.MonkeyPatch, **settings: str) -> int:
    """What the health check ends with under some settings."""
    with monkeypatch.context() as changed:
        for name, value in settings.items():
            changed.setenv(name, value)
        return healthcheck.main()


def test_the_health_check_needs_no_key(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str, str | None, str | None]] = []

    def status_of(
        address: str, *, path: str, host: str | None, timeout_s: float, key: str | None
    ) -> int | None:
        asked.append((path, host, key))
        return 200 if address == "http://127.0.0.1:8080" and timeout_s > 0 else None

    monkeypatch.setattr(healthcheck, "status_of", status_of)
    told: tuple[dict[str, str], ...] = ({}, OUTSIDE, PROXIED)
    assert [checked(monkeypatch, **given) for given in told] == [0, 0, 0]
    assert asked == [
        ("/readyz", None, None),
        ("/healthz", None, None),
        ("/healthz", "ops.example", None),
    ]


def test_with_a_key_the_health_check_sees_whether_decisions_can_be_recorded(
    build: Built, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    house = build(PROXIED)
    key = house.key()
    with listening(house.app) as address:
        port = address.rpartition(":")[2]
        given = {**PROXIED, "APPROACH_PORT": port}
        assert checked(monkeypatch, **given, APPROACH_ADMIN_KEY=key.text) == 0
        house.log.close()
        for each in tmp_path.glob("decisions*"):
            each.rename(each.with_suffix(".away"))
        house.time.pass_by(seconds=60)
        assert checked(monkeypatch, **given, APPROACH_ADMIN_KEY=key.text) == 1
        assert checked(monkeypatch, **given) == 0, "without one it sees only that it answers"


def test_a_key_that_was_taken_back_does_not_make_the_service_unwell(
    build: Built, monkeypatch: pytest.MonkeyPatch
) -> None:
    house = build(PROXIED)
    key = house.key()
    house.access.revoke(key.identifier, by="test", at=house.time.at)
    with listening(house.app) as address:
        given = {**PROXIED, "APPROACH_PORT": address.rpartition(":")[2]}
        assert checked(monkeypatch, **given, APPROACH_ADMIN_KEY=key.text) == 0
    assert checked(monkeypatch, **given, APPROACH_ADMIN_KEY=key.text) == 1, "nobody answers"
