"""`python -m decision.workbench check`: every fault at once, gates, exit codes."""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

import pytest

from decision.profile.load import PROFILES, read_profile
from decision.workbench.__main__ import main
from tests.profile.builders import file_with


def test_a_plausible_aircraft_is_fine(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(PROFILES / "xtj150.toml")]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("xtj150 1.0.0: XTJ150")
    assert "second segment [CFR-25 25.121(b)]" in shown
    assert shown.endswith("43 figures, all passed\n")
    assert "FAIL" not in shown
    assert max(map(len, shown.splitlines())) <= 100


def test_a_gate_that_is_not_passed_is_marked_with_value_and_limit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_with(
        tmp_path, ("static_thrust_n = { value = 110000", "static_thrust_n = { value = 80000")
    )
    assert main(["check", str(path)]) == 1
    shown = capsys.readouterr().out
    marked = [line.split() for line in shown.splitlines() if line.startswith("FAIL")]
    assert ["0.89", ">=", "2.10", "%"] in [line[-4:] for line in marked]
    assert "not passed" in shown.splitlines()[-1]


def test_what_cannot_be_worked_out_is_shown_as_unknown_with_the_reason(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_with(
        tmp_path, ("static_thrust_n = { value = 110000", "static_thrust_n = { value = 50000")
    )
    assert main(["check", str(path)]) == 1
    shown = capsys.readouterr().out
    assert "unknown  >= 10000 ft\n      it does not even climb at sea level" in shown


def test_every_fault_of_a_file_is_told_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_with(
        tmp_path,
        ("value = 42500", "value = 425"),
        ('unit = "m2"', 'unit = "ft2"'),
        ('sweep_deg = { value = 25.0, unit = "deg", source = "ASSUMED" }\n', ""),
        (
            'vmo_kt = { value = 340, unit = "kt", source = "ASSUMED"',
            'vmo_kt = { value = 340, unit = "kt", source = "NOBODY"',
        ),
    )
    assert main(["check", str(path)]) == 64
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.splitlines() == [
        "xtj150.toml: 4 faults",
        "masses.oew_kg: is 425; must be 1000 to 650000 kg",
        "wing.sweep_deg: missing",
        "wing.area_m2.unit: is 'ft2'; must be 'm2'",
        "limits.vmo_kt.source: 'NOBODY' is not in the bibliography",
    ]


def test_the_faults_of_both_files_come_together_each_under_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_with(tmp_path, ("value = 42500", "value = 425"))
    systems = path.with_name("xtj150.systems.toml")
    text = systems.read_text(encoding="utf-8")
    for old, new in (
        ('kind = "engine-out"', 'kind = "engine-in"'),
        ('title = "Battery"', "title = 7\nweight_kg = 30"),
        ('ata = "29"', 'ata = "x"'),
        ("minutes = 5", "minutes = 500"),
    ):
        text = text.replace(old, new, 1)
    systems.write_text(text, encoding="utf-8")
    assert main(["check", str(path)]) == 64
    first, second, *rest = capsys.readouterr().err.splitlines()
    assert (first, second[:12]) == ("xtj150.toml: 1 fault", "masses.oew_k")
    assert rest[0] == "xtj150.systems.toml: 5 faults"
    assert [line.partition(": ")[0] for line in rest[1:]] == [
        "node.engine-1.when_lost[0].kind",
        "node.battery.weight_kg",
        "node.battery.title",
        "failure.hydraulic-1.ata",
        "failure.gear-normal-extension.effects[1]",
    ]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("[profile]\nid =", "profile = 3\n[other]\nid =", "profile: must be a table"),
        ('source = "ASSUMED" }', "source = [] }", "[] is not in the bibliography"),
    ],
)
def test_a_table_of_the_wrong_shape_is_a_fault_and_no_crash(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, told: str
) -> None:
    assert main(["check", str(file_with(tmp_path, (old, new)))]) == 64
    assert told in capsys.readouterr().err


def test_a_systems_file_may_stand_elsewhere_and_counts_in_the_digest(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_with(tmp_path)
    beside = read_profile(path).profile
    other = tmp_path / "draft.systems.toml"
    path.with_name("xtj150.systems.toml").rename(other)
    assert main(["check", str(path), str(other)]) == 0
    assert "all passed" in capsys.readouterr().out
    elsewhere = read_profile(path, systems_path=other).profile
    assert beside is not None
    assert elsewhere is not None
    assert elsewhere.digest == beside.digest
    other.write_bytes(other.read_bytes().replace(b"# ----", b"# ===="))
    changed = read_profile(path, systems_path=other).profile
    assert changed is not None
    assert changed.digest != beside.digest


def test_a_file_without_its_systems_is_a_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = file_with(tmp_path)
    path.with_name("xtj150.systems.toml").unlink()
    assert main(["check", str(path)]) == 64
    assert capsys.readouterr().err.startswith("xtj150.systems.toml: 1 fault\nfile:")


@pytest.mark.parametrize("arguments", [[], ["check"], ["check", "a", "b", "c"], ["other"]])
def test_what_is_no_command_is_answered_with_the_usage(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 64
    assert capsys.readouterr().err.startswith("usage: python -m decision.workbench")


def test_a_file_that_is_missing_or_no_profile_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", str(tmp_path / "none.toml")]) == 64
    assert "No such file" in capsys.readouterr().err
    assert main(["check", str(tmp_path / "table.csv")]) == 64
    assert "a profile is a file NAME.toml" in capsys.readouterr().err


def test_the_command_runs_as_a_module(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["workbench", "check", str(PROFILES / "xtj150.toml")])
    monkeypatch.delitem(sys.modules, "decision.workbench.__main__")
    with pytest.raises(SystemExit) as caught:
        runpy.run_module("decision.workbench", run_name="__main__")
    assert caught.value.code == 0
    assert capsys.readouterr().out.endswith("all passed\n")
