"""The tool that breaks modules: what it changes, what it leaves alone, and that it tells the truth.

The whole sample belongs to the long tier; ten of it are drawn here.
"""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.bench.mutants import ROOMS, SEED, asked_for, counted, drawn, mutants_of
from tests.bench.reach import ROOT, File, Known
from tests.counts import takes_long

HEAD = "def judged(value: float = 1.5, *, at:"
WHOLE = '''
SIZE: int = 7
LEAST = 200.0


@cache(maxsize=SIZE)
def judged(value: float = 1.5, *, at: bool = True) -> float | None:
    """Words that stay."""
    if value < 2 and not at:  # a comment that stays
        return -value * 3
    if value > LEAST:
        raise ValueError(f"{value:.1f} over {value + 4}")
    return value if at is None else "text"
'''


@pytest.mark.parametrize(
    ("line", "what", "becomes"),
    [
        (9, "Lt -> LtE", "if (value <= 2) and not at:  # a comment that stays"),
        (9, "Lt -> GtE", "if (value >= 2) and not at:  # a comment that stays"),
        (9, "and <-> or", "if (value < 2 or not at):  # a comment that stays"),
        (9, "condition negated", "if (not (value < 2 and (not at))):  # a comment that stays"),
        (9, "not removed", "if value < 2 and (not not at):  # a comment that stays"),
        (9, "2 -> 3", "if value < (3) and not at:  # a comment that stays"),
        (9, "2 -> 1", "if value < (1) and not at:  # a comment that stays"),
        (10, "Mult -> Div", "return (-value / 3)"),
        (10, "3 -> 4", "return -value * (4)"),
        (10, "minus removed", "return (+value) * 3"),
        (10, "returns None", "return (None)"),
        (11, "Gt -> GtE", "if (value >= LEAST):"),
        (13, "Is -> IsNot", 'return value if (at is not None) else "text"'),
        (3, "200.0 -> 210.0", "LEAST = (210.0)"),
        (3, "200.0 -> 190.0", "LEAST = (190.0)"),
        (
            7,
            "True -> False",
            "def judged(value: float = 1.5, *, at: bool = (False)) -> float | None:",
        ),
    ],
)
def test_each_kind_of_change_is_made_where_it_says(line: int, what: str, becomes: str) -> None:
    (mutant,) = [
        each for each in mutants_of("m.py", WHOLE) if (each.line, each.what) == (line, what)
    ]
    changed = mutant.source(WHOLE).splitlines()
    assert changed[line - 1].strip() == becomes
    before = WHOLE.splitlines()
    assert changed[: line - 1] + changed[line:] == before[: line - 1] + before[line:]


def test_decorators_annotations_sizes_of_caches_and_wording_are_left_alone() -> None:
    mutants = list(mutants_of("m.py", WHOLE))
    assert {mutant.line for mutant in mutants} == {3, 7, 9, 10, 11, 13}
    made = [mutant.source(WHOLE) for mutant in mutants]
    assert len(set(made)) == len(made)
    for source in made:
        assert "@cache(maxsize=SIZE)" in source
        assert ") -> float | None:" in source
        assert '"""Words that stay."""' in source


def test_a_statement_is_run_by_who_runs_a_line_of_it_and_a_constant_by_who_runs_any() -> None:
    lines = {(each.line, each.what): each.lines for each in mutants_of("m.py", WHOLE)}
    assert lines[9, "Lt -> LtE"] == {9}
    assert lines[10, "Mult -> Div"] == {10}
    assert lines[3, "200.0 -> 210.0"] == set(range(8, 14))


@takes_long
def test_every_change_of_a_module_of_the_product_can_be_compiled_and_changes_it() -> None:
    names = asked_for(["rules/climb.py", "performance/braking.py", "case/sense.py"])
    assert len(names) == 3
    for name in (name for found in names.values() for name in found):
        text = (ROOT / name).read_text(encoding="utf-8")
        plain = ast.dump(ast.parse(text))
        mutants = list(mutants_of(name, text))
        assert mutants
        for mutant in mutants:
            assert ast.dump(ast.parse(mutant.source(text))) != plain, mutant


def test_an_empty_module_has_nothing_to_change() -> None:
    assert list(mutants_of("m.py", "")) == []


def test_a_sample_is_decided_by_its_seed_and_every_room_takes_part() -> None:
    rooms = asked_for([])
    assert rooms.keys() == ROOMS.keys()
    assert all(rooms.values())
    names = rooms["decision/attempt"]
    assert "decision/attempt/minima/planning.py" in names

    def places(seed: int) -> list[tuple[str, int]]:
        return [(each.module, each.index) for each in drawn(names, ROOT, sample=80, seed=seed)]

    assert len(places(SEED)) == 80
    assert places(SEED) == places(SEED)
    assert places(SEED) != places(SEED + 1)


def test_the_quick_files_that_run_the_line_are_asked_and_no_others() -> None:
    def file(cost_s: float, *lines: int) -> File:
        return File(cost_s=cost_s, took_s=9.0 - cost_s, lines={"m.py": frozenset(lines)})

    known = Known(
        files={
            "tests/a/test_slow.py": file(3.0, 7, 8),
            "tests/a/test_quick.py": file(1.0, 8, 9),
            "tests/a/test_elsewhere.py": file(1.0, 1),
            "tests/b/test_other_room.py": file(1.0, 8),
        }
    )
    assert known.asked("m.py", [8], ["tests/a"]) == (
        "tests/a/test_quick.py",
        "tests/a/test_slow.py",
    )


@takes_long
def test_ten_changes_of_the_algebra_of_windows_are_all_noticed(tmp_path: Path) -> None:
    out = tmp_path / "mutants.json"
    command = [sys.executable, "-m", "tests.bench.mutants", "decision/windows.py"]
    command += ["--sample", "10", "--at-once", "1", "--json", str(out)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    told = json.loads(out.read_text(encoding="utf-8"))
    assert told["seed"] == SEED
    assert [each["fate"] for each in told["mutants"]] == ["killed"] * 10, done.stdout


def test_a_change_that_hangs_a_test_is_counted_as_noticed() -> None:
    fates = ["killed", "killed", "survived", "timed out"]
    assert list(counted(("decision/rules", fate) for fate in fates)) == [
        ("decision/rules", "4", "2", "1", "1", "75.0 %"),
        ("all", "4", "2", "1", "1", "75.0 %"),
    ]


FATES = """
import json, sys
from pathlib import Path
from tests.bench.reach import Changed, copied, judge
copies = [copied(Path(sys.argv[1]) / "0", committed=False)]
name = "decision/windows.py"
text = (copies[0] / name).read_text(encoding="utf-8")
asked = ("tests/vocabulary/test_windows.py",)
hangs = "import time; time.sleep(600)"
sources = [(text, asked), (text.replace("<=", "<"), asked), (hangs, asked), (text, ())]
changes = [Changed(module=name, source=one, asked=by, limit_s=12.0) for one, by in sources]
fates = {place: judged.fate for place, judged in judge(copies, changes)}
print(json.dumps([fates[place] for place in range(4)]))
assert (copies[0] / name).read_text(encoding="utf-8") == text
"""


@takes_long
def test_a_module_as_it_is_survives_so_that_being_run_at_all_kills_nothing(tmp_path: Path) -> None:
    """And one that hangs is timed out, and one that no test runs is not called noticed."""
    command = [sys.executable, "-c", FATES, str(tmp_path)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == ["survived", "killed", "timed out", "survived"]
