"""Which tests run which lines, and what they say of a changed module: for `mutants`.

Every test file is run once under coverage in a process of its own, so that no cache that an
earlier file filled hides a line. A change is then shown to the files that run its line, the quick
ones first, until one fails. All this in copies of the tree, one for each process at work, each
forked from one that has imported what does not belong to the project.
"""

from __future__ import annotations

import ast
import hashlib
import importlib
import io
import json
import mmap
import os
import shutil
import signal
import subprocess
import sys
import tarfile
import tempfile
import time
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest

ROOT: Final = Path(__file__).parents[2]
PRODUCT: Final = ("decision", "service", "tests", "openapi", "pyproject.toml", "README.md")
OURS: Final = {"decision", "service", "tests"}
PLUGINS: Final = ("pytest_timeout", "_hypothesis_pytestplugin")  # the ones that these tests use
OPTIONS: Final = ("-q", "-x", "-p", "no:cacheprovider", "--no-header", "--tb=no")
PROFILE: Final = "few"  # of hypothesis: few examples, always the same
SLOWEST_S: Final = 60.0  # a file that takes longer is not asked
PATIENCE: Final = 5.0  # so many times what a file takes unchanged, and
GRACE_S: Final = 20.0  # so much longer, until it is taken to hang
ITSELF: Final = "tests/rules/test_mutants.py"
KILLED, SURVIVED, TIMED_OUT = "killed", "survived", "timed out"
BROKEN: Final = "255"  # the end of a process that did not come as far as a test
CACHE: Final = Path(tempfile.gettempdir()) / "approach-decision-reach"


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What became of a change, and by which test file, or why nobody noticed."""

    fate: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class File:
    """A test file: the lines that it runs of each module, and how long it takes.

    The processor's time says how dear it is on a machine that has other things to do; the clock
    says when it hangs.
    """

    cost_s: float
    took_s: float
    lines: Mapping[str, frozenset[int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """The test files that pass on the tree as it is."""

    files: Mapping[str, File]

    def asked(self, module: str, lines: Iterable[int], tests: Sequence[str]) -> tuple[str, ...]:
        """The files under `tests` that run one of the lines, the quick ones first."""
        wanted = frozenset(lines)
        found = [
            (file.cost_s, name)
            for name, file in self.files.items()
            if name.startswith(tuple(tests))
            and file.cost_s <= SLOWEST_S
            and wanted.intersection(file.lines.get(module, ()))
        ]
        return tuple(name for _, name in sorted(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A module with a change in it, and the test files that are asked in this order."""

    module: str
    source: str
    asked: tuple[str, ...]
    limit_s: float  # for any one of the files


def copied(into: Path, *, committed: bool) -> Path:
    """The product, copied, so that a change cannot reach the working tree."""
    into.mkdir()
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


def warm(files: Iterable[Path]) -> None:
    """Import what these import from outside the project, once for all processes to come."""
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    os.environ |= {"HYPOTHESIS_PROFILE": PROFILE, "PROPERTY_CASES": "10"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name in sorted({"coverage", *PLUGINS}.union(*map(_imported, files))):
            with suppress(ImportError):
                importlib.import_module(name)


def _imported(path: Path) -> Iterator[str]:
    """Modules from outside the project, and from outside the language, named at the top of it."""
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        names = [each.name for each in node.names] if isinstance(node, ast.Import) else []
        if isinstance(node, ast.ImportFrom):
            names = [node.module or ""]
        for name in names:
            if name.split(".")[0] not in OURS | sys.stdlib_module_names:
                yield name


# --- which lines a test file runs ---


def reach(copies: Sequence[Path], tests: Iterable[str]) -> Known:
    """What each file under `tests` runs; remembered outside the tree for as long as it is so."""
    there = copies[0]
    names = sorted({name for each in tests for name in _files(there, each)} - {ITSELF})
    warm([*(there / name for name in names), *(there / "decision").rglob("*.py")])
    store = CACHE / f"{_digest(there)}.json"
    rows = json.loads(store.read_text(encoding="utf-8")) if store.exists() else {}
    lacking = [name for name in names if name not in rows]
    with tempfile.TemporaryDirectory() as folder:
        outs = [Path(folder) / str(place) for place in range(len(lacking))]
        works = [_measuring(name, out) for name, out in zip(lacking, outs, strict=True)]
        for place, _, end in _in_turn(copies, works, limits_s=[600.0] * len(works)):
            if end != "0":
                print(f"left out, fails without a change: {lacking[place]} ({end})", flush=True)
                rows[lacking[place]] = None
            else:
                rows[lacking[place]] = json.loads(outs[place].read_text(encoding="utf-8"))
    CACHE.mkdir(exist_ok=True)
    store.write_text(json.dumps(rows), encoding="utf-8")
    return Known(
        files={
            name: File(
                cost_s=rows[name]["cost_s"],
                took_s=rows[name]["took_s"],
                lines={key: frozenset(lines) for key, lines in rows[name]["lines"].items()},
            )
            for name in names
            if rows[name] is not None
        }
    )


def _files(there: Path, tests: str) -> list[str]:
    start = there / tests
    paths = [start] if start.is_file() else start.rglob("test_*.py")
    return [path.relative_to(there).as_posix() for path in paths]


def _digest(there: Path) -> str:
    whole = hashlib.sha256()
    for path in sorted(each for each in there.rglob("*") if each.suffix in HASHED):
        whole.update(path.relative_to(there).as_posix().encode() + b"\0" + path.read_bytes())
    return whole.hexdigest()[:32]


HASHED: Final = {".py", ".toml", ".csv", ".json", ".txt", ".md"}
Work = Callable[[Path, Callable[[int], None]], int]


def _measuring(name: str, out: Path) -> Work:
    def work(there: Path, _at: Callable[[int], None]) -> int:
        from coverage import Coverage

        coverage = Coverage(data_file=None, source=[str(there / "decision")], messages=False)
        coverage.start()
        started_s, spent_s = time.monotonic(), time.process_time()
        code = _pytest(name)
        times = {
            "took_s": time.monotonic() - started_s,
            "cost_s": time.process_time() - spent_s,
        }
        coverage.stop()
        data = coverage.get_data()
        lines = {
            Path(path).relative_to(there).as_posix(): data.lines(path)
            for path in data.measured_files()
        }
        out.write_text(json.dumps({**times, "lines": lines}), encoding="utf-8")
        return code

    return work


# --- what tests say of a change ---


def judge(copies: Sequence[Path], changes: Sequence[Changed]) -> Iterator[tuple[int, Judged]]:
    """The fate of each change, as place and fate, in the order in which it is known."""
    warm(copies[0] / name for change in changes for name in change.asked)
    reached = [place for place, change in enumerate(changes) if change.asked]
    for place in set(range(len(changes))) - set(reached):
        yield place, Judged(fate=SURVIVED, by="no test runs it")
    works = [_asking(changes[place]) for place in reached]
    limits_s = [changes[place].limit_s for place in reached]
    originals = {
        each.module: (copies[0] / each.module).read_text(encoding="utf-8") for each in changes
    }
    for number, there, end in _in_turn(copies, works, limits_s=limits_s):
        change = changes[reached[number]]
        _write(there / change.module, originals[change.module])
        yield reached[number], _judged(change, end)


def _write(path: Path, source: str) -> None:
    """The module, and nothing compiled of what stood there before, perhaps in the same second."""
    path.write_text(source, encoding="utf-8")
    for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
        compiled.unlink()


def _judged(change: Changed, end: str) -> Judged:
    if end == BROKEN:
        raise RuntimeError(f"{change.module}: the tests could not be asked")
    if end == "0":
        return Judged(fate=SURVIVED, by=f"{len(change.asked)} files pass")
    if end.startswith("late"):
        return Judged(fate=TIMED_OUT, by=change.asked[int(end.split()[1])])
    number = int(end)
    return Judged(fate=KILLED, by=change.asked[number - 1] if number > 0 else "the process died")


def _asking(change: Changed) -> Work:
    def work(there: Path, at: Callable[[int], None]) -> int:
        _write(there / change.module, change.source)
        for number, name in enumerate(change.asked):
            at(number)
            if _pytest(name) != 0:
                return number + 1
        return 0

    return work


def _pytest(name: str) -> int:
    options = [*OPTIONS, "-W", "ignore::pytest.PytestAssertRewriteWarning"]  # imported before
    for plugin in PLUGINS:
        options += ["-p", plugin]
    return int(pytest.main([*options, name]))


# --- processes, one for each copy at a time ---


@dataclass(kw_only=True)
class _Running:
    place: int
    copy: Path
    process: int
    progress: mmap.mmap  # the number of the file at work, from the child
    seen: int = -1
    since_s: float = 0.0

    def is_late(self, limit_s: float) -> bool:
        """Whether it has been at one file for longer than that."""
        now_s, number = time.monotonic(), self.progress[0]
        if number != self.seen:
            self.seen, self.since_s = number, now_s
        return now_s - self.since_s > limit_s


def _in_turn(
    copies: Sequence[Path], works: Sequence[Work], *, limits_s: Sequence[float]
) -> Iterator[tuple[int, Path, str]]:
    """Each work in a fresh process in a copy of its own: its place, the copy and how it ended.

    "0" and other numbers are what it gave back, a minus is a signal; "late N" was stopped at N.
    """
    waiting = list(range(len(works)))[::-1]
    free, running = list(copies), list[_Running]()
    try:
        while waiting or running:
            while waiting and free:
                place = waiting.pop()
                running.append(_started(place, free.pop(), works[place]))
            for each in list(running):
                end = _end(each, limits_s[each.place])
                if end is not None:
                    running.remove(each)
                    free.append(each.copy)
                    yield each.place, each.copy, end
            time.sleep(0.02)
    finally:
        for each in running:
            _stop(each)


def _started(place: int, there: Path, work: Work) -> _Running:
    progress = mmap.mmap(-1, 1)
    process = os.fork()
    if process == 0:
        os._exit(_child(there, work, progress))
    return _Running(place=place, copy=there, process=process, progress=progress)


def _child(there: Path, work: Work, progress: mmap.mmap) -> int:
    os.setsid()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.dup2(nowhere, sys.stderr.fileno())
    os.chdir(there)
    sys.path.insert(0, str(there))
    for name in list(sys.modules):
        if name.split(".")[0] in OURS:
            del sys.modules[name]

    def at(number: int) -> None:
        progress[0] = number

    try:
        return work(there, at)
    except BaseException:
        return int(BROKEN)


def _end(each: _Running, limit_s: float) -> str | None:
    done, status = os.waitpid(each.process, os.WNOHANG)
    if done:
        return str(os.waitstatus_to_exitcode(status))
    if each.is_late(limit_s):
        _stop(each)
        return f"late {each.progress[0]}"
    return None


def _stop(each: _Running) -> None:
    """The process and all that it has started."""
    with suppress(ProcessLookupError):
        os.killpg(each.process, signal.SIGKILL)
    with suppress(ChildProcessError):
        os.waitpid(each.process, 0)
