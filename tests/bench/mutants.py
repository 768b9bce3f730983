"""Small changes of a module, each of which some test should notice.

`python -m tests.bench.mutants [--sample N] [--seed N] [--committed] [--json FILE] [word ...]`
draws N of them, as many from each room, or from the modules whose path has one of the words, runs
the tests that execute the changed line, and tells which changes no test noticed. What is run is a
copy: nothing in the working tree is touched. See `reach` for how tests are chosen.
"""

from __future__ import annotations

import argparse
import ast
import copy
import json
import random
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from tests.bench.reach import (
    GRACE_S,
    KILLED,
    PATIENCE,
    ROOT,
    SURVIVED,
    TIMED_OUT,
    Changed,
    Judged,
    Known,
    copied,
    judge,
    reach,
)

SAMPLE: Final = 400
SEED: Final = 20261129
FRACTION: Final = 0.05  # by which a figure is changed
WHOLE: Final = ("tests/recommend", "tests/answer")  # whole decisions, and what is told of them
ROOMS: Final = {  # where mutants are drawn, and the tests that are asked about them
    "decision/rules": ("tests/rules", "tests/decide", "tests/semantics", *WHOLE),
    "decision/flight": (
        *("tests/flight", "tests/decide", "tests/semantics", *WHOLE),
        "tests/physics/test_holding.py",  # the run-in and its figures
    ),
    "decision/attempt": ("tests/attempt", "tests/rules", "tests/decide", *WHOLE),
    "decision/decide": (
        *("tests/decide", "tests/semantics", "tests/brief", *WHOLE),
        "tests/rules/test_engine_out.py",  # whole decisions: courses weighed against each other
    ),
    "decision/what_if": ("tests/what_if", "tests/semantics", *WHOLE),
    "decision/performance": ("tests/physics", "tests/profile", "tests/workbench", "tests/flight"),
    "decision/case": (
        *("tests/case", "tests/semantics", "tests/answer/test_cautions.py"),
        *("tests/service/test_openapi.py", "tests/service/test_schemas.py"),
    ),
    "decision/recommend.py": (
        *("tests/semantics", "tests/what_if", *WHOLE),
        "tests/rules/test_rulebook_policy.py",  # a comparison with other rulebooks
    ),
    "decision/answer": (
        *("tests/semantics", "tests/brief", *WHOLE),
        "tests/rules/test_rulebook_policy.py",  # a comparison with other rulebooks
    ),
}
VALUES: Final = "tests/vocabulary/test_values.py"  # asked about every room: what all values are
BESIDE: Final = {  # only when named
    "decision/windows.py": ("tests/vocabulary/test_windows.py",),
    "decision/workbench": ("tests/workbench",),
}
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
    """One change: of the node that a walk over the module reaches at `index`.

    `lines` are those of the statement, of its head where it has a body: who runs any of them runs
    what is changed. What runs on import, all who import it run: there they are those of all
    functions of the module.
    """

    module: str
    index: int
    line: int
    lines: frozenset[int]
    what: str
    change: Change

    def source(self, text: str) -> str:
        """The module with the change in it, and all else to the letter as it was."""
        node = list(ast.walk(ast.parse(text)))[self.index]
        start, end = _span(text, _changed_part(node))
        self.change(node)
        put = f"({ast.unparse(_changed_part(node))})"
        content = text.encode()
        return (content[:start] + put.encode() + content[end:]).decode()


def _changed_part(node: ast.AST) -> ast.expr:
    """The expression that a change of the node replaces."""
    if isinstance(node, ast.If):
        return node.test
    part = node.value if isinstance(node, ast.Return) else node
    assert isinstance(part, ast.expr)
    return part


def _span(text: str, part: ast.expr) -> tuple[int, int]:
    """Where the expression begins and ends, in bytes."""
    starts = [0]
    for line in text.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    assert part.end_lineno is not None
    assert part.end_col_offset is not None
    first = starts[part.lineno - 1] + part.col_offset
    return first, starts[part.end_lineno - 1] + part.end_col_offset


def mutants_of(module: str, text: str) -> Iterator[Mutant]:
    """Every mutant of a module, apart from what cannot change what is computed.

    Left out: annotations, decorators (caches, dataclasses) and the constants that only these use,
    texts, and figures within a text or an error, which are its wording.
    """
    tree = ast.parse(text)
    silent = {id(node) for part in _silent(tree) for node in ast.walk(part)}
    lines = _lines_of(tree)
    for index, node in enumerate(ast.walk(tree)):
        if id(node) not in silent:
            for what, change in _changes(node):
                yield Mutant(
                    module=module,
                    index=index,
                    line=getattr(node, "lineno", 0),
                    lines=lines[id(node)],
                    what=what,
                    change=change,
                )


def _silent(tree: ast.AST) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield from node.decorator_list
        if isinstance(node, ast.FunctionDef) and node.returns is not None:
            yield node.returns
        if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None:
            yield node.annotation
        if isinstance(node, ast.JoinedStr | ast.Raise):
            yield node
    yield from _of_decorators_only(tree)


def _of_decorators_only(tree: ast.AST) -> Iterator[ast.AST]:
    """Sizes of caches and the like: constants of the module that nothing but a decorator reads."""
    decorators = [
        each
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        for each in node.decorator_list
    ]
    there = [id(name) for each in decorators for name in ast.walk(each)]
    read = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load)
    ]
    elsewhere = {name.id for name in read if id(name) not in there}
    only = {name.id for name in read if id(name) in there} - elsewhere
    for node in ast.walk(tree):
        name = node.target if isinstance(node, ast.AnnAssign) else None
        if isinstance(name, ast.Name) and name.id in only:
            yield node


def _lines_of(tree: ast.Module) -> dict[int, frozenset[int]]:
    """The lines that tell who runs a node, by the node's identity."""
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    within = {
        id(each) for function in functions for part in function.body for each in ast.walk(part)
    }
    inside = [line for each in functions for line in range(each.body[0].lineno, _last(each) + 1)]
    anywhere = frozenset(inside or range(1, _last(tree.body[-1]) + 1 if tree.body else 1))
    found: dict[int, frozenset[int]] = {}
    for statement in ast.walk(tree):  # outer ones first, so that inner ones have the last word
        if isinstance(statement, ast.stmt):
            own = frozenset(_head(statement)) if id(statement) in within else anywhere
            found |= {id(node): own for node in ast.walk(statement)}
    return found


def _head(statement: ast.stmt) -> range:
    body = getattr(statement, "body", None)
    last = body[0].lineno - 1 if body else _last(statement)
    return range(statement.lineno, max(last, statement.lineno) + 1)


def _last(statement: ast.stmt) -> int:
    return statement.end_lineno or statement.lineno


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
    value = node.value
    if isinstance(value, bool | int | float):
        for other in _others(value):
            yield f"{value} -> {other}", _put_constant(other)


def _others(value: float) -> tuple[float, ...]:
    """A flag flipped, a count off by one either way, a figure off by its twentieth."""
    if isinstance(value, bool):
        return (not value,)
    if isinstance(value, int):
        return value + 1, value - 1
    return (value * (1.0 + FRACTION), value * (1.0 - FRACTION)) if value else (1.0,)


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


# --- drawing, running and telling ---


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A mutant of a room and what became of it."""

    room: str
    mutant: Mutant
    judged: Judged

    def row(self) -> dict[str, object]:
        return {
            "room": self.room,
            "at": f"{self.mutant.module}:{self.mutant.line}",
            "what": self.mutant.what,
            "fate": self.judged.fate,
            "by": self.judged.by,
        }


def modules(room: str, there: Path = ROOT) -> list[str]:
    """Paths of the modules of a room, or the one that it is."""
    start = there / room
    paths = [start] if start.is_file() else sorted(start.rglob("*.py"))
    return [path.relative_to(there).as_posix() for path in paths]


def drawn(names: Sequence[str], there: Path, *, sample: int, seed: int) -> list[Mutant]:
    """A sample of the mutants of the modules, that the seed decides; all if there are fewer."""
    found = [
        mutant
        for name in names
        for mutant in mutants_of(name, (there / name).read_text(encoding="utf-8"))
    ]
    if sample >= len(found):
        return found
    chosen = set(random.Random(seed).sample(range(len(found)), sample))  # noqa: S311
    return [mutant for place, mutant in enumerate(found) if place in chosen]


def asked_for(words: Sequence[str]) -> dict[str, list[str]]:
    """The modules of each room that has some with one of the words; of every room without words."""
    rooms = {room: modules(room) for room in (*ROOMS, *(BESIDE if words else ()))}
    if not words:
        return rooms
    named = {
        room: [name for name in names if any(word in name for word in words)]
        for room, names in rooms.items()
    }
    return {room: names for room, names in named.items() if names}


def run(
    words: Sequence[str], *, sample: int, seed: int, committed: bool, at_once: int
) -> Iterator[Told]:
    """Each mutant of the sample, in the order in which its fate is known."""
    rooms = asked_for(words)
    share = -(-sample // max(1, len(rooms)))
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copies = [copied(Path(folder) / str(n), committed=committed) for n in range(at_once)]
        tests = {room: (*(ROOMS | BESIDE)[room], VALUES) for room in rooms}
        known = reach(copies, {each for room in tests.values() for each in room})
        mutants = [
            (room, mutant)
            for room, names in rooms.items()
            for mutant in drawn(names, copies[0], sample=share, seed=seed)
        ]
        changes = [_change(mutant, copies[0], known, tests[room]) for room, mutant in mutants]
        for place, judged in judge(copies, changes):
            room, mutant = mutants[place]
            yield Told(room=room, mutant=mutant, judged=judged)


def _change(mutant: Mutant, there: Path, known: Known, tests: Sequence[str]) -> Changed:
    text = (there / mutant.module).read_text(encoding="utf-8")
    asked = known.asked(mutant.module, mutant.lines, tests)
    slowest_s = max((known.files[name].took_s for name in asked), default=0.0)
    return Changed(
        module=mutant.module,
        source=mutant.source(text),
        asked=asked,
        limit_s=PATIENCE * slowest_s + GRACE_S,
    )


def counted(fates: Iterable[tuple[str, str]]) -> Iterator[tuple[str, ...]]:
    """Room, drawn, killed, survived, timed out, noticed in percent, from rooms and fates.

    A change that hangs a test is noticed by it.
    """
    pairs = list(fates)
    for room in [*dict.fromkeys(room for room, _ in pairs), "all"]:
        own = [fate for where, fate in pairs if room in (where, "all")]
        numbers = [len(own), *(own.count(fate) for fate in (KILLED, SURVIVED, TIMED_OUT))]
        share = 100.0 * (len(own) - own.count(SURVIVED)) / max(1, len(own))
        yield (room, *map(str, numbers), f"{share:.1f} %")


def table(told: Sequence[Told]) -> str:
    """The counts in columns."""
    head = ("room", "drawn", "killed", "survived", "timed out", "noticed")
    rows = counted((each.room, each.judged.fate) for each in told)
    return "\n".join(
        f"{row[0]:24}" + "".join(f"{cell:>11}" for cell in row[1:]) for row in (head, *rows)
    )


def main() -> None:
    """Draw, run and tell; the survivors by name, since each wants a test or a reason."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("words", nargs="*")
    parser.add_argument("--sample", type=int, default=SAMPLE, help="how many, over all rooms")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--committed", action="store_true", help="the last commit, not the tree")
    parser.add_argument("--at-once", type=int, default=2, help="how many processes")
    parser.add_argument("--json", type=Path, help="write the fate of each there")
    asked = parser.parse_args()
    told = []
    for each in run(
        asked.words,
        sample=asked.sample,
        seed=asked.seed,
        committed=asked.committed,
        at_once=asked.at_once,
    ):
        told.append(each)
        if each.judged.fate == SURVIVED:
            row = each.row()
            print(f"{row['at']}: {row['what']}  ({row['by']})", flush=True)
    told.sort(key=lambda each: (each.room, each.mutant.module, each.mutant.line))
    if asked.json:
        rows = [each.row() for each in told]
        content = {"seed": asked.seed, "mutants": rows}
        asked.json.write_text(json.dumps(content, indent=1), encoding="utf-8")
    sys.stdout.write(table(told) + "\n")


if __name__ == "__main__":
    main()
