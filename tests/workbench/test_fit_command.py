"""`python -m decision.workbench fit`: a table in, a draft in the format out, faults all at once."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from decision.profile import load_profile
from decision.profile.load import PROFILES, read_profile
from decision.workbench.__main__ import main
from decision.workbench.draft import Replacement, draft_text
from decision.workbench.fitting import fit_flows
from decision.workbench.flow_rows import COLUMNS, read_flow_rows
from tests.changing import replace
from tests.profile.builders import altered
from tests.workbench.flows import flows_of, with_flows_of, write_csv

START = load_profile("xtj150")
HEADER = ",".join(COLUMNS)
GOOD = "56000,10000,250,up,0,2650"


def table(folder: Path, *lines: str, header: str = HEADER) -> Path:
    path = folder / "table.csv"
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return path


def fitted(folder: Path, source: Path, *more: str) -> tuple[int, Path]:
    draft = folder / "draft-1.toml"
    return main(["fit", str(source), "--start", "xtj150", "-o", str(draft), *more]), draft


def test_a_draft_is_a_profile_with_fitted_values_and_their_source(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = flows_of(altered("polar", cd0=0.0198), noise=0.005, seed=4)
    code, draft = fitted(tmp_path, write_csv(tmp_path / "manual.csv", rows))
    assert code == 0
    profile = read_profile(draft).profile
    assert profile is not None
    assert (profile.id, profile.title) == ("draft-1", "draft, xtj150 fitted to manual.csv")
    assert profile.polar.cd0 == pytest.approx(0.0198, rel=0.03)
    assert profile.systems.catalogue.keys() == START.systems.catalogue.keys()
    text = draft.read_text(encoding="utf-8")
    assert 'source = "FITTED", note = "from manual.csv, standard error 0.000' in text
    assert "# [FITTED] from manual.csv" in text.partition("[[detents]]")[2]
    assert "# Invented generic twin jet" in text
    shown = capsys.readouterr().out
    assert shown.startswith(f"xtj150 fitted to manual.csv, {len(rows)} rows\n")
    assert "kept as at the start\nengine.fuel_linear     not told from the others" in shown
    assert shown.endswith(f"next: python -m decision.workbench check {draft}\n")
    assert main(["check", str(draft)]) == 0


def test_only_fitted_lines_differ_from_the_start(tmp_path: Path) -> None:
    _, draft = fitted(tmp_path, write_csv(tmp_path / "t.csv", flows_of(START)))
    was = (PROFILES / "xtj150.toml").read_text(encoding="utf-8").splitlines()
    now = draft.read_text(encoding="utf-8").splitlines()
    differing = [line.split(" = ")[0] for line, old in zip(now, was, strict=True) if line != old]
    assert differing == [
        *("id", "version", "title", "cd0", "k", "flaps_up_cd", "flaps_full_cd", "fuel_ram"),
        *("cd0",) * 4,
    ]


def test_systems_that_are_there_already_stay(tmp_path: Path) -> None:
    systems = tmp_path / "draft-1.systems.toml"
    own = (PROFILES / "xtj150.systems.toml").read_bytes() + b"# ours\n"
    systems.write_bytes(own)
    fitted(tmp_path, write_csv(tmp_path / "t.csv", flows_of(START)))
    assert systems.read_bytes() == own


def test_every_fault_of_a_table_is_told_with_its_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = table(
        tmp_path,
        GOOD,
        "5600,10000,250,up,0,2650",
        "56000,x,250,in,1,nan",
        "56000,10000",
        GOOD + ",1",
    )
    code, draft = fitted(tmp_path, source)
    assert code == 64
    assert not draft.exists()
    assert capsys.readouterr().err.splitlines() == [
        "table.csv: 7 faults",
        "line 3, mass_kg: is '5600'; must be a number from 42500 to 76000",
        "line 4, flap: is '1'; must be one of 0, 6, 12, 20, 34",
        "line 4, pressure_altitude_ft: is 'x'; must be a number from 0 to 39000",
        "line 4, gear: is 'in'; must be one of up, down",
        "line 4, fuel_flow_kg_per_h: is 'nan'; must be a number from 1 to 100000",
        "line 5, row: does not have as many cells as the header",
        "line 6, row: does not have as many cells as the header",
    ]


@pytest.mark.parametrize(
    ("header", "told"),
    [
        (
            HEADER.replace("cas_kt", "cas"),
            ["cas_kt: the column must be there, once", "cas: unknown"],
        ),
        (HEADER + ",flap", ["flap: the column must be there, once"]),
        (HEADER + ",doors,doors", ["doors: the column is there twice"]),
        ("", ["mass_kg: the column must be there, once"]),
    ],
)
def test_other_columns_are_refused(tmp_path: Path, header: str, told: list[str]) -> None:
    found = read_flow_rows(table(tmp_path, GOOD, header=header), profile=START)
    assert found.rows == ()
    assert all(any(words in str(fault) for fault in found.faults) for words in told)


def test_a_table_that_governs_can_be_fitted_as_it_is(tmp_path: Path) -> None:
    header = "gear,doors,flap,slats,engines_running,mass_kg,pressure_altitude_ft,cas_kt,"
    source = table(
        tmp_path,
        "down,open,0,out,1,56000,5000,200,3100,manual 1",
        "up,closed,6,in,2,56000,5000,200,2500,manual 1",
        header=header + "fuel_flow_kg_per_h,source",
    )
    found = read_flow_rows(source, profile=START)
    assert found.faults == ()
    down, up = found.rows
    assert (down.gear_down, down.gear_doors_open, down.slats_out) == (True, True, True)
    assert (up.gear_down, up.gear_doors_open, up.slats_out) == (False, False, False)
    assert (down.engines_running, up.engines_running) == (1, 2)


def test_a_column_left_out_stands_for_lever_doors_closed_and_every_engine(tmp_path: Path) -> None:
    found = read_flow_rows(table(tmp_path, GOOD, GOOD.replace(",0,", ",6,")), profile=START)
    up, six = found.rows
    assert (up.slats_out, six.slats_out) == (False, True)
    assert not up.gear_doors_open
    assert up.engines_running == 2


def test_a_wrong_word_in_an_optional_column_is_a_fault(tmp_path: Path) -> None:
    source = table(tmp_path, GOOD + ",ajar,3", header=HEADER + ",doors,engines_running")
    problems = [str(fault) for fault in read_flow_rows(source, profile=START).faults]
    assert problems == [
        "table.csv line 2: doors: is 'ajar'; must be one of closed, open",
        "table.csv line 2: engines_running: is '3'; must be one of 1, 2",
    ]


def test_a_table_without_rows_is_a_fault(tmp_path: Path) -> None:
    (fault,) = read_flow_rows(table(tmp_path), profile=START).faults
    assert fault.problem == "has no rows"


def test_what_the_table_cannot_tell_is_told_in_plain_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert fitted(tmp_path, table(tmp_path, GOOD))[0] == 64
    assert "these rows tell no coefficient" in capsys.readouterr().err
    assert fitted(tmp_path, table(tmp_path, GOOD), "--keep", "wing.area_m2")[0] == 64
    assert "wing.area_m2 is not fitted anyway" in capsys.readouterr().err
    assert fitted(tmp_path, table(tmp_path, "56000,35000,330,up,0,4000"))[0] == 64
    assert "mach is" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["there.toml", "draft.txt", 'a"b.toml', "ä.toml"])
def test_a_draft_overwrites_nothing_and_has_a_plain_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    (tmp_path / "there.toml").write_text("mine", encoding="utf-8")
    source = table(tmp_path, GOOD)
    assert main(["fit", str(source), "--start", "xtj150", "-o", str(tmp_path / name)]) == 64
    assert "must be a new file NAME.toml" in capsys.readouterr().err
    assert (tmp_path / "there.toml").read_text(encoding="utf-8") == "mine"


def test_a_table_that_is_missing_or_no_text_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert fitted(tmp_path, tmp_path / "none.csv")[0] == 64
    assert "No such file" in capsys.readouterr().err
    (tmp_path / "table.csv").write_bytes(b"\xff\xfe\x00")
    assert fitted(tmp_path, tmp_path / "table.csv")[0] == 64
    assert "not a text in UTF-8" in capsys.readouterr().err


def test_an_unknown_start_is_told_with_the_known_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["fit", "t.csv", "--start", "xtj999", "-o", str(tmp_path / "d.toml")]) == 64
    assert "xtj150" in capsys.readouterr().err


def test_without_scipy_it_says_what_to_install(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "decision.workbench.fitting", None)
    assert fitted(tmp_path, table(tmp_path, GOOD))[0] == 64
    assert (
        capsys.readouterr().err
        == 'fitting needs SciPy; install it with: pip install "scipy>=1.14"\n'
    )


def test_the_tables_of_the_start_stay_with_it() -> None:
    text = draft_text(
        '[tables]\nfactors = "f.csv"\n\n[polar]\nk = { value = 1, unit = "1", source = "X" }',
        profile_id="d",
        title="t",
        values={},
    )
    assert text == '[polar]\nk = { value = 1, unit = "1", source = "X" }\n'


def test_any_aircraft_can_be_the_start(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wide = load_profile("xtwide")
    rows = [
        replace(row, mass_kg=3.0 * row.mass_kg, flap="4" if row.flap == "6" else "0")
        for row in flows_of(START)
        if row.flap in {"0", "6"}
    ]
    fit = fit_flows(wide, with_flows_of(wide, rows))
    assert fit.after.greatest_percent < 1e-6
    assert {"polar.cd0", "detents.4.cd0"} <= {each.coefficient.path for each in fit.estimates}
    source = write_csv(tmp_path / "t.csv", with_flows_of(wide, rows))
    draft = tmp_path / "wide.toml"
    assert main(["fit", str(source), "--start", "xtwide", "-o", str(draft)]) == 0
    assert main(["check", str(draft)]) == 0
    assert "xtwide fitted to t.csv" in capsys.readouterr().out


def test_a_name_with_quotes_does_not_break_the_draft() -> None:
    text = draft_text(
        '[polar]\ncd0 = { value = 1, unit = "1", source = "X" }\n[[detents]]\nid = "6"\ncd0 = 0.1',
        profile_id="d",
        title="t",
        values={
            "polar.cd0": Replacement(value=0.02, note='from a "b".csv'),
            "detents.6.cd0": Replacement(value=0.003, note="from a\nb.csv"),
        },
    )
    assert 'note = "from a \\"b\\".csv" }' in text
    assert text.endswith("cd0 = 0.003  # [FITTED] from a b.csv\n")
