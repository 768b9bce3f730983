"""`python -m decision` as a real process, and its way with bad input."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from decision.__main__ import main
from tests.case.builders import CASES, demo

ROOT = CASES.parents[1]


def run(*arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "decision", *arguments],
        cwd=ROOT,
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_process_prints_the_brief_and_exits_with_the_verdict() -> None:
    done = run(str(CASES / "gear-stuck.json"))
    assert done.returncode == 20
    assert "NO_GO: DIVERT XTOR" in done.stdout
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("name", "code"),
    [("clean", 0), ("escape-thin", 10), ("gear-stuck", 20), ("alternate-weather-missing", 30)],
)
def test_each_verdict_has_its_exit_code(name: str, code: int) -> None:
    assert main([str(CASES / f"{name}.json")]) == code


def test_the_answer_comes_as_json_and_the_case_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(demo("clean"))))
    assert main(["-", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "GO"


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", '{"flight_id": NaN}', '{"flight_id": 1' + "0" * 400 + "}", "[" * 100_000],
)
def test_what_is_no_case_is_bad_input_and_nothing_else(text: str, tmp_path: Path) -> None:
    file = tmp_path / "case.json"
    file.write_text(text, encoding="utf-8")
    assert main([str(file)]) == 64


def test_a_missing_file_or_argument_is_bad_input() -> None:
    assert main([]) == 64
    assert main(["/no/such/case.json"]) == 64


def test_every_fault_is_printed_with_its_place_and_range(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    body = demo("clean")
    body["aircraft"]["mass_kg"] = 99_000
    body["colour"] = "red"
    file = tmp_path / "case.json"
    file.write_text(json.dumps(body), encoding="utf-8")
    assert main([str(file)]) == 64
    assert "/colour" in capsys.readouterr().err
    del body["colour"]
    file.write_text(json.dumps(body), encoding="utf-8")
    assert main([str(file)]) == 64
    told = capsys.readouterr().err
    assert "/aircraft/mass_kg" in told
    assert "42500 to 76000 kg" in told
