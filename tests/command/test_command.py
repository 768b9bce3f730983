"""`python -m decision`: as a real process with its exit codes, and its way with bad input."""

from __future__ import annotations

import io
import json
import re
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from decision.__main__ import main
from decision.options import EXIT_BAD_INPUT
from tests.case.builders import CASES, demo, with_changes

ROOT = Path(__file__).parents[2]
EXIT_CODES = [
    ("clean", 0, "GO"),
    ("escape-thin", 10, "GO_WITH_CAUTION"),
    ("gear-stuck", 20, "NO_GO"),
    ("alternate-weather-missing", 30, "INSUFFICIENT_DATA"),
]


def run(*arguments: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "decision", *arguments],
        cwd=ROOT,
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )


def written(folder: Path, body: object) -> str:
    file = folder / "case.json"
    file.write_text(body if isinstance(body, str) else json.dumps(body), encoding="utf-8")
    return str(file)


@pytest.mark.parametrize(("name", "code", "verdict"), EXIT_CODES)
def test_the_process_prints_the_brief_and_exits_with_the_verdict(
    name: str, code: int, verdict: str
) -> None:
    done = run(str(CASES / f"{name}.json"))
    assert done.returncode == code
    assert re.search(rf"^APPROACH   {verdict}\b", done.stdout, re.M)
    assert done.stderr == ""


def test_the_process_reads_a_case_from_standard_input_and_answers_in_json() -> None:
    done = run("-", "--json", stdin=json.dumps(demo("gear-stuck")))
    assert done.returncode == 20
    assert json.loads(done.stdout)["verdict"] == "NO_GO"


@pytest.mark.parametrize(
    ("arguments", "stdin", "words"),
    [
        ((), "", "usage:"),
        (("-",), "{", "-: "),
        (("-",), "[1]", "a case is a JSON object"),
        (("-",), '{"fuel": NaN}', "NaN is not a number in JSON"),
        (("no/such/case.json",), "", "no/such/case.json"),
        (("-",), "{}", "/flight_id: flight_id is required"),
    ],
)
def test_the_process_refuses_bad_input_with_its_own_code(
    arguments: tuple[str, ...], stdin: str, words: str
) -> None:
    done = run(*arguments, stdin=stdin)
    assert done.returncode == EXIT_BAD_INPUT == 64
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize(("name", "code", "verdict"), EXIT_CODES)
def test_each_verdict_has_its_exit_code_in_either_form(
    name: str, code: int, verdict: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = str(CASES / f"{name}.json")
    assert main([path]) == code
    assert re.search(rf"^APPROACH   {verdict}\b", capsys.readouterr().out, re.M)
    assert main(["--json", path]) == code
    assert json.loads(capsys.readouterr().out)["verdict"] == verdict


def test_the_answer_comes_as_json_and_the_case_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(demo("clean"))))
    assert main(["-", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == "GO"


def test_the_module_is_its_own_program(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["decision", str(CASES / "clean.json")])
    monkeypatch.delitem(sys.modules, "decision.__main__")
    with pytest.raises(SystemExit) as caught:
        runpy.run_module("decision", run_name="__main__")
    assert caught.value.code == 0
    assert "ACTION     APPROACH XKAL" in capsys.readouterr().out


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '"a case"',
        '{"flight_id": NaN}',
        '{"flight_id": Infinity}',
        '{"flight_id": 1' + "0" * 400 + "}",
        '{"flight_id": 1' + "0" * 5000 + "}",
        "[" * 100_000,
    ],
)
def test_what_is_no_case_is_bad_input_and_nothing_else(text: str, tmp_path: Path) -> None:
    assert main([written(tmp_path, text)]) == EXIT_BAD_INPUT


def test_a_file_that_is_no_text_is_bad_input(tmp_path: Path) -> None:
    file = tmp_path / "case.json"
    file.write_bytes(b"\xff\xfe\x00")
    assert main([str(file)]) == EXIT_BAD_INPUT
    assert main([str(tmp_path)]) == EXIT_BAD_INPUT


@pytest.mark.parametrize(
    "arguments", [[], ["--json"], ["a.json", "b.json"], ["a.json", "--colour"], ["a.json", "--js"]]
)
def test_one_case_is_asked_for_and_the_usage_says_so(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(arguments)
    assert stopped.value.code == EXIT_BAD_INPUT
    assert capsys.readouterr().err.startswith("usage: python -m decision ")


def test_help_tells_every_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["--help"])
    assert stopped.value.code == 0
    told = re.search(r"exit code: (.*)$", capsys.readouterr().out, re.M)
    assert told is not None
    assert told[1] == "0 GO, 10 GO_WITH_CAUTION, 20 NO_GO, 30 INSUFFICIENT_DATA, 64 bad input;"


FAULTS: list[tuple[dict[str, Any], str]] = [
    (
        {"/aircraft/mass_kg": 99_000},
        "/aircraft/mass_kg: gross mass is 99000 kg; accepted: 42500 to 76000 kg for this profile "
        "and case",
    ),
    ({"/colour": "red"}, "/colour: Case has no field 'colour'"),
    ({"/fuel/on_board_kg": "many"}, "/fuel/on_board_kg: 'many' is not accepted; accepted: "),
    ({"/policy/landing_factor": 1.0}, "/policy/landing_factor: 1 is looser than the rulebook"),
]


@pytest.mark.parametrize(("changes", "line"), FAULTS)
def test_a_fault_is_printed_with_its_place_and_what_is_accepted(
    changes: dict[str, Any], line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([written(tmp_path, with_changes(demo("clean"), changes))]) == EXIT_BAD_INPUT
    told = capsys.readouterr()
    assert any(each.startswith(line) for each in told.err.splitlines()), told.err
    assert told.out == ""


def test_every_fault_has_its_own_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    body = with_changes(demo("clean"), {"/colour": 1, "/shape": 2, "/aircraft/mass_kg": -1})
    assert main([written(tmp_path, body)]) == EXIT_BAD_INPUT
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(":")[0] for line in lines] == ["/colour", "/shape", "/aircraft/mass_kg"]


@pytest.mark.parametrize("form", [(), ("--json",)], ids=["brief", "json"])
def test_what_a_terminal_obeys_is_written_out(
    form: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    policy = {"landing_factor": 1.0, "deviation_reason": "told\x1b[2J \x9b31m\x7f\u202e"}
    main([*form, written(tmp_path, with_changes(demo("gear-stuck"), {"/policy": policy}))])
    printed = capsys.readouterr().out
    assert "told\\u001b[2J \\u009b31m\\u007f\\u202e" in " ".join(printed.split())
    assert "".join(printed.splitlines()).isprintable()


def test_what_a_terminal_obeys_is_written_out_in_faults_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([written(tmp_path, demo("gear-stuck") | {"\x1b[2J\x7f": 1})]) == EXIT_BAD_INPUT
    printed = capsys.readouterr().err
    assert "/\\u001b[2J\\u007f" in printed
    assert "".join(printed.splitlines()).isprintable()
