"""How good the tests of the rules are: break the code in small ways and see whether they notice.

`python -m tests.bench.mutants [--all] [--committed] [--sample N] [--seed N] [word ...]`: a sample
of the mutants of decision/rules/ and decision/windows.py, or of the modules whose path has one of
the words. Each mutant is one change of one expression; it is killed when a test fails, hangs or
cannot start. The product is copied first, so that nothing in the working tree is touched. One
process at a time, each forked from one that has imported what lies below the rules. Only the tests
named in `ROOMS` are asked, so that a mutant costs seconds: more tests would kill more.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib
import io
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tarfile
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest

ROOT: Final = Path(__file__).parents[2]
PRODUCT: Final = ("decision", "service", "tests", "openapi", "pyproject.toml")
TIMEOUT_S: Final = 90
SAMPLE: Final = 400
NOTICED, UNNOTICED = "killed", "survived"

ROOMS: Final = {  # the tests that are asked, by the beginning of a module's path
    "decision/windows.py": ("tests/vocabulary/test_windows.py",),
    "decision/rules/minima/daylight.py": ("tests/rules/test_daylight.py",),
    "decision/rules/minima/": (
        "tests/rules/test_minima_cases.py",
        "tests/rules/test_minima_landing.py",
        "tests/rules/test_minima_operating.py",
        "tests/rules/test_minima_planning.py",
        "tests/rules/test_minima_seen.py",
        "tests/rules/test_rules.py",
        "tests/rules/test_sentences.py",
        "tests/rules/test_edges.py",
        "tests/rules/test_traps.py",
    ),
    "decision/rules/rulebook.py": ("tests/rules/test_rulebook.py",),
    "decision/rules/": (
        "tests/rules/test_rules.py",
        "tests/rules/test_sentences.py",
        "tests/rules/test_edges.py",
        "tests/rules/test_finding.py",
        "tests/rules/test_engine_out.py",
        "tests/rules/test_usable.py",
        "tests/rules/test_rulebook_policy.py",
        "tests/rules/test_traps.py",
        "tests/rules/test_worked_examples.py",
    ),
}
PLUGINS: Final = ("pytest_timeout", "_hypothesis_pytestplugin")  # the ones that these tests use
# What stands on the rules and is imported anew for each mutant; all else is imported once.
ABOVE: Final = ("decision.rules", "decision.courses", "decision.recommend", "decision.brief")
COMPARED: Final[dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
COMPUTED: Final[dict[type[ast.operator], type[ast.operator]]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
}
Change = Callable[[ast.AST], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """One change: of the node that a walk over the module reaches at `index`."""

    module: str
    index: int
    line: int
    what: str
    change: Change

    def source(self, text: str) -> str:
        """The module with the change in it."""
        tree = ast.parse(text)
        self.change(list(ast.walk(tree))[self.index])
        return ast.unparse(ast.fix_missing_locations(tree))


def mutants_of(module: str, text: str) -> Iterator[Mutant]:
    """Every mutant of a module, apart from what cannot change what is computed.

    Left out: annotations, decorators (caches, dataclasses) and texts.
    """
    tree = ast.parse(text)
    silent = {id(node) for part in _silent(tree) for node in ast.walk(part)}
    for index, node in enumerate(ast.walk(tree)):
        if id(node) not in silent:
            for what, change in _changes(node):
                line = getattr(node, "lineno", 0)
                yield Mutant(module=module, index=index, line=line, what=what, change=change)


def _silent(tree: ast.AST) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield from node.decorator_list
        if isinstance(node, ast.FunctionDef) and node.returns is not None:
            yield node.returns
        if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None:
            yield node.annotation


def _changes(node: ast.AST) -> Iterator[tuple[str, Change]]:
    """What can be changed about one node, in words, and how."""
    return CHANGES.get(type(node), _nothing)(node)


def _nothing(_node: ast.AST) -> Iterator[tuple[str, Change]]:
    return iter(())


def _comparisons(node: ast.AST) -> Iterator[tuple[str, Change]]:
    assert isinstance(node, ast.Compare)
    for place, old in enumerate(node.ops):
        for new in COMPARED[type(old)]:
            yield f"{_name(type(old))} -> {_name(new)}", _put_comparison(place, new)


def _junctions(_node: ast.AST) -> Iterator[tuple[str, Change]]:
    yield "and <-> or", _swap_and_or


def _conditions(_node: ast.AST) -> Iterator[tuple[str, Change]]:
    yield "condition negated", _negate


def _operations(node: ast.AST) -> Iterator[tuple[str, Change]]:
    assert isinstance(node, ast.BinOp)
    new = COMPUTED.get(type(node.op))
    if new is not None:
        yield f"{_name(type(node.op))} -> {_name(new)}", _put_operator(new)


def _returns(node: ast.AST) -> Iterator[tuple[str, Change]]:
    assert isinstance(node, ast.Return)
    if not _is_none(node.value):
        yield "returns None", _return_none


def _constants(node: ast.AST) -> Iterator[tuple[str, Change]]:
    assert isinstance(node, ast.Constant)
    if isinstance(node.value, bool):
        yield f"{node.value} -> {not node.value}", _put_constant(not node.value)
    elif isinstance(node.value, int | float):
        yield f"{node.value} -> {node.value + 1}", _put_constant(node.value + 1)


def _unaries(node: ast.AST) -> Iterator[tuple[str, Change]]:
    assert isinstance(node, ast.UnaryOp)
    if isinstance(node.op, ast.Not):
        yield "not removed", _drop_not
    elif isinstance(node.op, ast.USub):
        yield "minus removed", _drop_minus


CHANGES: Final[dict[type[ast.AST], Callable[[ast.AST], Iterator[tuple[str, Change]]]]] = {
    ast.Compare: _comparisons,
    ast.BoolOp: _junctions,
    ast.If: _conditions,
    ast.IfExp: _conditions,
    ast.BinOp: _operations,
    ast.Constant: _constants,
    ast.Return: _returns,
    ast.UnaryOp: _unaries,
}


def _name(kind: type[ast.AST]) -> str:
    return kind.__name__


def _is_none(node: ast.AST | None) -> bool:
    return node is None or (isinstance(node, ast.Constant) and node.value is None)


def _put_comparison(place: int, new: type[ast.cmpop]) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Compare)
        node.ops[place] = new()

    return change


def _put_operator(new: type[ast.operator]) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.BinOp)
        node.op = new()

    return change


def _put_constant(value: float) -> Change:
    def change(node: ast.AST) -> None:
        assert isinstance(node, ast.Constant)
        node.value = value

    return change


def _swap_and_or(node: ast.AST) -> None:
    assert isinstance(node, ast.BoolOp)
    node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()


def _negate(node: ast.AST) -> None:
    assert isinstance(node, ast.If | ast.IfExp)
    node.test = ast.UnaryOp(op=ast.Not(), operand=node.test)


def _return_none(node: ast.AST) -> None:
    assert isinstance(node, ast.Return)
    node.value = ast.Constant(value=None)


def _drop_not(node: ast.AST) -> None:
    """A second one beside it: the same as none, for a node that cannot replace itself."""
    assert isinstance(node, ast.UnaryOp)
    node.operand = ast.UnaryOp(op=ast.Not(), operand=copy.deepcopy(node.operand))


def _drop_minus(node: ast.AST) -> None:
    assert isinstance(node, ast.UnaryOp)
    node.op = ast.UAdd()


# --- running them ---


def modules(words: Sequence[str], there: Path = ROOT) -> list[str]:
    """Paths of the modules that are mutated, those with one of the words when there are any."""
    paths = [there / "decision/windows.py", *sorted((there / "decision/rules").rglob("*.py"))]
    names = [path.relative_to(there).as_posix() for path in paths]
    return [name for name in names if not words or any(word in name for word in words)]


def drawn(names: Sequence[str], there: Path, *, sample: int | None, seed: int) -> list[Mutant]:
    """All mutants of the modules, or a sample that the seed decides, module by module."""
    found = [
        mutant
        for name in names
        for mutant in mutants_of(name, (there / name).read_text(encoding="utf-8"))
    ]
    if sample is None or sample >= len(found):
        return found
    chosen = set(random.Random(seed).sample(range(len(found)), sample))  # noqa: S311
    return [mutant for place, mutant in enumerate(found) if place in chosen]


def copied(into: Path, *, committed: bool) -> Path:
    """The product, copied, so that a change cannot reach the working tree."""
    if committed:
        archive = subprocess.run(
            ["git", "archive", "HEAD", *PRODUCT], cwd=ROOT, check=True, capture_output=True
        )
        with tarfile.open(fileobj=io.BytesIO(archive.stdout)) as tar:
            tar.extractall(into, filter="data")
        return into
    for name in PRODUCT:
        source, target = ROOT / name, into / name
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, target)
    return into


def survives(mutant: Mutant, there: Path) -> bool:
    """Whether no test notices the change."""
    path = there / mutant.module
    text = path.read_text(encoding="utf-8")
    path.write_text(mutant.source(text), encoding="utf-8")
    try:
        asked = next(tests for start, tests in ROOMS.items() if mutant.module.startswith(start))
        return _passes(asked, below=not mutant.module.startswith("decision/rules"))
    finally:
        path.write_text(text, encoding="utf-8")


def _passes(tests: Sequence[str], *, below: bool) -> bool:
    """Whether the tests pass in a process of their own, in time."""
    child = os.fork()
    if child == 0:
        os._exit(_run(tests, below=below))
    deadline = time.monotonic() + TIMEOUT_S
    while time.monotonic() < deadline:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.02)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def _run(tests: Sequence[str], *, below: bool) -> int:
    """Pytest in the copy, with nothing imported of what the mutant may reach."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.dup2(nowhere, sys.stderr.fileno())
    _forget("tests", *(("decision",) if below else ABOVE))
    options = ["-q", "-x", "-p", "no:cacheprovider", "--no-header", "--tb=no"]
    options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # imported before the fork
    for plugin in PLUGINS:
        options += ["-p", plugin]
    try:
        return int(pytest.main([*options, *tests]))
    except BaseException:
        return 1


def _forget(*packages: str) -> None:
    """Let these be imported anew, from the copy and with the mutant in it."""
    for name in list(sys.modules):
        if any(name == package or name.startswith(f"{package}.") for package in packages):
            del sys.modules[name]


def _warm(there: Path) -> None:
    """Import and fill from the copy what no mutant of the rules can reach, so that none pays."""
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    os.chdir(there)
    sys.path.insert(0, str(there))
    _forget("tests", "decision")
    for name in ("hypothesis.strategies", "geographiclib.geodesic", *PLUGINS):
        importlib.import_module(name)
    case = importlib.import_module("decision.case")
    recommend = importlib.import_module("decision.recommend")
    for path in sorted((there / "tests" / "cases").glob("*.json")):
        recommend.recommend(case.case_from_mapping(json.loads(path.read_text(encoding="utf-8"))))
    _forget("tests", *ABOVE)


def main() -> None:
    """Draw, run and report; the survivors by name, since each wants a test or a reason."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("words", nargs="*")
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--committed", action="store_true", help="the last commit, not the tree")
    parser.add_argument("--sample", type=int, default=SAMPLE)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    sample = None if asked.all else asked.sample
    counted: Counter[tuple[str, str]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        there = copied(Path(folder), committed=asked.committed)
        mutants = drawn(modules(asked.words, there), there, sample=sample, seed=asked.seed)
        _warm(there)
        for tests in ROOMS.values():
            if not _passes(tests, below=True):
                raise SystemExit(f"without any change these do not pass: {' '.join(tests)}")
        for mutant in mutants:
            fate = UNNOTICED if survives(mutant, there) else NOTICED
            counted[mutant.module, fate] += 1
            if fate is UNNOTICED:
                print(f"{mutant.module}:{mutant.line}: {mutant.what}", flush=True)
    _report(counted)


def _report(counted: Counter[tuple[str, str]]) -> None:
    for name in sorted({module for module, _ in counted}):
        _line(name, counted[name, NOTICED], counted[name, UNNOTICED])
    killed = sum(count for (_, fate), count in counted.items() if fate is NOTICED)
    _line("all", killed, counted.total() - killed)


def _line(name: str, killed: int, survived: int) -> None:
    whole = killed + survived
    print(f"{name:40} {killed:5} of {whole:5} killed, {100.0 * killed / whole:.1f} %")


if __name__ == "__main__":
    main()
