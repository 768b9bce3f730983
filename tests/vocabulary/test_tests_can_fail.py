"""No test of this tree is unable to fail, as far as its text tells.

Three classes are looked for: a test without a check; one whose every check stands behind a loop
that may have nothing to go through, or behind a condition; and a check of constants against
constants. An `assert` of what a loop goes through, before the loop, is the way out of the second.
What is never empty for a reason that no text shows stands in `NEVER_EMPTY` with the reason.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, Final

import pytest

ROOT: Final = Path(__file__).parents[2]
FILES: Final = sorted((ROOT / "tests").rglob("test_*.py"))
CHECKING: Final = {"pytest.raises", "pytest.warns", "pytest.fail"}
OF_LIBRARIES: Final = {  # they raise when something is wrong
    *("validate", "call_and_validate"),
    *("to_be_visible", "to_be_hidden", "to_be_focused", "to_contain_text", "to_have_attribute"),
    *("to_have_text", "to_have_value"),
}
SAME_LENGTH: Final = {  # and `product`, which is empty only if one of them is
    *("enumerate", "sorted", "reversed", "list", "tuple", "set", "frozenset", "dict", "zip"),
    "product",
}
VIEWS: Final = {"items", "values", "keys"}
NEVER_EMPTY: Final = {  # a call, and the test that holds what it gives
    "rulebook_ids": "tests/rules/test_rulebook.py names the three",
}
ABOUT_CONSTANTS: Final = {"tests/vocabulary/test_units.py": "factors against their definitions"}
CONSTANTS: Final = {"decision.units", "math"}
ARITHMETIC: Final = {"abs", "round", "sum", "min", "max", "len", "int", "float", "pytest.approx"}
TAKEN_OUT: Final = ast.Call(ast.Name("taken_out_of_something"), [], [])  # nothing is known of it
Bound = ast.expr | ast.FunctionDef | ast.ClassDef


@dataclass(frozen=True, kw_only=True)
class Scope:
    """What the names of a module, or of a function in it, stand for."""

    bound: Mapping[str, Bound] = field(default_factory=dict)
    imported: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    drawn: frozenset[str] = frozenset()  # arguments, loop variables: not known from the text
    outer: Scope | None = None

    def find(self, name: str) -> tuple[Bound, Scope] | None:
        """What the name stands for and the scope of the names in that; None if it is not told."""
        if name in self.drawn:
            return None
        if name in self.bound:
            return self.bound[name], self
        if name in self.imported:
            module, original = self.imported[name]
            there = module_scope(module)
            return there.find(original) if there is not None else None
        return self.outer.find(name) if self.outer is not None else None

    def origin(self, name: str) -> str | None:
        """The module that the name is imported from."""
        if name in self.drawn or name in self.bound:
            return None
        if name in self.imported:
            return self.imported[name][0]
        return self.outer.origin(name) if self.outer is not None else None


@cache
def module_scope(name: str) -> Scope | None:
    """The scope of a module of this project; None for one from elsewhere."""
    path = ROOT.joinpath(*name.split("."))
    for file in (path.with_suffix(".py"), path / "__init__.py"):
        if file.exists():
            return scope_of(parsed(file.read_text(encoding="utf-8")).body)
    return None


@cache
def parsed(text: str) -> ast.Module:
    """The tree of a text, kept, so that its nodes may be known by their identity."""
    return ast.parse(text)


def scope_of(body: Sequence[ast.stmt], **more: object) -> Scope:
    """Names bound by these statements; one that is bound twice stands for nothing certain."""
    bound: dict[str, Bound] = {}
    twice: set[str] = set()
    for name, value in _bindings(body):
        if name in bound:
            twice.add(name)
        bound[name] = value
    imported = {
        alias.asname or alias.name: (node.module or "", alias.name)
        for node in body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    drawn = frozenset(twice) | frozenset(_loop_variables(body))
    outer = more.get("outer")
    arguments = more.get("arguments", frozenset())
    assert outer is None or isinstance(outer, Scope)
    assert isinstance(arguments, frozenset)
    return Scope(bound=bound, imported=imported, drawn=drawn | arguments, outer=outer)


def _bindings(body: Sequence[ast.stmt]) -> Iterator[tuple[str, Bound]]:
    for node in _statements(body):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            yield node.name, node
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and node.value:
            yield node.target.id, node.value
        elif isinstance(node, ast.Assign):
            for target in node.targets:
                yield from _paired(target, node.value)


def _statements(body: Sequence[ast.stmt]) -> Iterator[ast.stmt]:
    """These and all within them, but not what belongs to a function or class of its own."""
    for node in body:
        yield node
        if not isinstance(node, ast.FunctionDef | ast.ClassDef):
            for part in ast.iter_child_nodes(node):
                inner = part.body if isinstance(part, ast.match_case | ast.ExceptHandler) else []
                yield from _statements([part] if isinstance(part, ast.stmt) else inner)


def _paired(target: ast.expr, value: ast.expr) -> Iterator[tuple[str, Bound]]:
    if isinstance(target, ast.Name):
        yield target.id, value
    elif isinstance(target, ast.Tuple | ast.List):
        parts: list[ast.expr] = [TAKEN_OUT] * len(target.elts)
        if isinstance(value, ast.Tuple | ast.List) and len(value.elts) == len(parts):
            parts = value.elts
        for inner, part in zip(target.elts, parts, strict=True):
            yield from _paired(inner, part)


def _loop_variables(body: Sequence[ast.stmt]) -> Iterator[str]:
    for statement in body:
        for node in ast.walk(statement):
            if isinstance(node, ast.For | ast.comprehension):
                yield from (each.id for each in ast.walk(node.target) if isinstance(each, ast.Name))
            if isinstance(node, ast.AugAssign) and isinstance(node.target, ast.Name):
                yield node.target.id
            if isinstance(node, ast.withitem) and node.optional_vars is not None:
                yield from (
                    each.id for each in ast.walk(node.optional_vars) if isinstance(each, ast.Name)
                )


def inside(function: ast.FunctionDef, scope: Scope) -> Scope:
    """The scope of a function's body; what is parametrized with literals keeps its literals."""
    every = function.args.posonlyargs + function.args.args + function.args.kwonlyargs
    given = dict(parametrized(function))
    inner = scope_of(
        function.body,
        outer=scope,
        arguments=frozenset(each.arg for each in every) - frozenset(given),
    )
    return Scope(bound={**given, **inner.bound}, drawn=inner.drawn, outer=scope)


def parametrized(function: ast.FunctionDef) -> Iterator[tuple[str, ast.expr]]:
    """Each parametrized argument with one value that stands for all: the shortest of them."""
    for decorator in function.decorator_list:
        if not (isinstance(decorator, ast.Call) and _name(decorator.func).endswith("parametrize")):
            continue
        names = ast.literal_eval(decorator.args[0])
        names = [each.strip() for each in names.split(",")] if isinstance(names, str) else names
        rows = decorator.args[1]
        if isinstance(rows, ast.List | ast.Tuple):
            yield from _columns(names, rows.elts)


def _columns(names: Sequence[str], rows: Sequence[ast.expr]) -> Iterator[tuple[str, ast.expr]]:
    if len(names) == 1:
        yield names[0], ast.Tuple(list(rows), ast.Load())
        return
    if all(isinstance(row, ast.Tuple) and len(row.elts) == len(names) for row in rows):
        for place, name in enumerate(names):
            column = [row.elts[place] for row in rows if isinstance(row, ast.Tuple)]
            yield name, ast.Tuple(column, ast.Load())


def _name(node: ast.expr) -> str:
    return ast.unparse(node)


# --- can there be nothing to go through? ---


def is_filled(node: ast.expr, scope: Scope) -> bool:
    """Whether there is certainly something in it."""
    filled = FILLED.get(type(node))
    return filled is not None and filled(node, scope)


def _display_is_filled(node: Any, scope: Scope) -> bool:
    return any(
        not isinstance(part, ast.Starred) or is_filled(part.value, scope) for part in node.elts
    )


def _comprehension_is_filled(node: Any, scope: Scope) -> bool:
    return all(is_filled(part.iter, scope) and not part.ifs for part in node.generators)


def _sum_is_filled(node: Any, scope: Scope) -> bool:
    return is_filled(node.left, scope) or is_filled(node.right, scope)


def _name_is_filled(node: Any, scope: Scope) -> bool:
    found = scope.find(node.id)
    if found is None:
        return False
    value, there = found
    if isinstance(value, ast.ClassDef):
        return any("Enum" in _name(base) for base in value.bases)
    return isinstance(value, ast.expr) and is_filled(value, there)


def _call_is_filled(node: Any, scope: Scope) -> bool:
    name = _name(node.func).rsplit(".", 1)[-1]
    if isinstance(node.func, ast.Attribute) and name in VIEWS:
        return is_filled(node.func.value, scope)
    if name == "pairwise":
        return _certain_length(node.args[0], scope) > 1
    if name == "range":
        return _certain_length(node, scope) > 0
    passes = name in SAME_LENGTH and bool(node.args)
    filled = passes and all(is_filled(each, scope) for each in node.args)
    return filled or name in NEVER_EMPTY


FILLED: Final[dict[type[ast.expr], Callable[[Any, Scope], bool]]] = {
    ast.Tuple: _display_is_filled,
    ast.List: _display_is_filled,
    ast.Set: _display_is_filled,
    ast.Dict: lambda node, _scope: any(key is not None for key in node.keys),
    ast.Constant: lambda node, _scope: isinstance(node.value, str) and node.value != "",
    ast.BinOp: _sum_is_filled,
    ast.ListComp: _comprehension_is_filled,
    ast.SetComp: _comprehension_is_filled,
    ast.DictComp: _comprehension_is_filled,
    ast.GeneratorExp: _comprehension_is_filled,
    ast.Name: _name_is_filled,
    ast.Call: _call_is_filled,
}


def _certain_length(node: ast.expr, scope: Scope) -> int:
    match node:
        case ast.Name(id=name):
            value, there = scope.find(name) or (None, scope)
            return _certain_length(value, there) if isinstance(value, ast.expr) else 0
        case (
            ast.ListComp(generators=[ast.comprehension(iter=over, ifs=[])])
            | ast.GeneratorExp(generators=[ast.comprehension(iter=over, ifs=[])])
        ):
            return _certain_length(over, scope)
        case ast.Call(func=ast.Name(id="range"), args=args):
            values = [arg.value for arg in args if isinstance(arg, ast.Constant)]
            numbers = [value for value in values if isinstance(value, int)]
            return len(range(*numbers)) if len(numbers) == len(args) else 0
        case ast.Tuple(elts=parts) | ast.List(elts=parts):
            return sum(not isinstance(part, ast.Starred) for part in parts)
    return 0


# --- is a check certainly reached? ---


def is_sure(body: Sequence[ast.stmt], scope: Scope) -> bool:
    """Whether these statements certainly meet a check."""
    return any(_is_sure(statement, scope) for statement in body)


def _is_sure(statement: ast.stmt, scope: Scope) -> bool:
    match statement:
        case ast.Assert(test=test):
            sure = says_something(test, scope)
        case ast.For(iter=over, body=body):
            sure = is_filled(over, scope) and is_sure(body, scope)
        case ast.If(body=body, orelse=other):
            sure = is_sure(body, scope) and is_sure(other, scope)
        case ast.With(items=items, body=body):
            sure = any(calls_check(each, scope) for each in items) or is_sure(body, scope)
        case ast.Try(body=body, finalbody=final):
            sure = is_sure(body, scope) or is_sure(final, scope)
        case ast.Match(cases=cases):
            sure = all(is_sure(case.body, scope) for case in cases)
        case ast.FunctionDef() | ast.While():
            sure = False
        case _:
            sure = calls_check(statement, scope)
    return sure


def says_something(test: ast.expr, scope: Scope) -> bool:
    """Whether the condition is more than one about each of possibly nothing."""
    match test:
        case ast.BoolOp(op=ast.And(), values=parts):
            return any(says_something(part, scope) for part in parts)
        case ast.Call(func=ast.Name(id="all"), args=[ast.GeneratorExp() as each]):
            return is_filled(each, scope)
        case ast.UnaryOp(op=ast.Not(), operand=ast.Call(func=ast.Name(id="any"), args=[each])):
            return _goes_through(each, scope)
        case ast.UnaryOp(op=ast.Not(), operand=ast.ListComp() | ast.SetComp() as each):
            return _goes_through(each, scope)
    return True


def _goes_through(each: ast.expr, scope: Scope) -> bool:
    """As `is_filled`, where a filter is the claim: none is to be found among something."""
    if isinstance(each, ast.GeneratorExp | ast.ListComp | ast.SetComp):
        return is_filled(each.generators[0].iter, scope)
    return True


def calls_check(node: ast.AST, scope: Scope) -> bool:
    """Whether something is called that certainly checks."""
    calls = [each for each in ast.walk(node) if isinstance(each, ast.Call)]
    return any(_checks(each.func, scope) for each in calls)


def _expects(called: ast.expr) -> bool:
    """Whether it is what a browser's page is held to: `expect(...).to_be_visible`, say."""
    on = called.value if isinstance(called, ast.Attribute) else None
    return isinstance(on, ast.Call) and _name(on.func) == "expect"


def _checks(called: ast.expr, scope: Scope) -> bool:
    last = _name(called).rsplit(".", 1)[-1]
    if _name(called) in CHECKING or last in OF_LIBRARIES or _expects(called):
        return True
    found = scope.find(called.id) if isinstance(called, ast.Name) else None
    helper, there = found or (None, scope)
    return isinstance(helper, ast.FunctionDef) and _function_checks(helper, there)


KNOWN: Final[dict[int, bool]] = {}  # by the identity of a function's node


def _function_checks(function: ast.FunctionDef, scope: Scope) -> bool:
    if id(function) not in KNOWN:
        KNOWN[id(function)] = False  # a helper that calls itself shows nothing by that
        KNOWN[id(function)] = is_sure(function.body, inside(function, scope))
    return KNOWN[id(function)]


# --- does it compare constants only? ---


def is_constant(node: ast.AST, scope: Scope, own: frozenset[str] = frozenset()) -> bool:
    """Whether the expression is arithmetic on literals and on constants of units."""
    match node:
        case ast.Name(id=name):
            return name in own or _name_is_constant(name, scope)
        case ast.Call(func=called, args=args, keywords=keywords):
            parts = [*args, *(each.value for each in keywords)]
            pure = _name(called) in ARITHMETIC or (
                isinstance(called, ast.Attribute) and is_constant(called.value, scope, own)
            )
            return pure and all(is_constant(part, scope, own) for part in parts)
        case ast.ListComp() | ast.GeneratorExp() | ast.SetComp() | ast.Lambda():
            return False
    return all(
        is_constant(part, scope, own)
        for part in ast.iter_child_nodes(node)
        if isinstance(part, ast.expr)
    )


def _name_is_constant(name: str, scope: Scope) -> bool:
    origin = scope.origin(name) or ""
    if origin.startswith(("decision", "service")) or origin in CONSTANTS:
        return origin in CONSTANTS  # a value of the product is what a test is about
    found = scope.find(name)
    if found is None:
        return name == "math"
    value, there = found
    if isinstance(value, ast.List | ast.Dict | ast.Set):  # that may be filled on the way
        return False
    return isinstance(value, ast.expr) and is_constant(value, there)


# --- what is found in a file ---


def faults(text: str, file: str = "") -> list[str]:
    """The tests in this text that cannot fail, each as line, name and class."""
    tree = parsed(text)
    scope = scope_of(tree.body)
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test"):
            for line, fault in _faults_of(
                node, scope, constants_matter=file not in ABOUT_CONSTANTS
            ):
                found.append(f"{file}:{line}: {node.name}: {fault}")
    return found


def _faults_of(
    function: ast.FunctionDef, scope: Scope, *, constants_matter: bool
) -> Iterator[tuple[int, str]]:
    inner = inside(function, scope)
    if not _checks_anything(function, inner):
        yield function.lineno, "checks nothing"
    elif not _is_law(function, scope) and not is_sure(function.body, inner):
        yield function.lineno, "no check is certainly reached"
    for node in ast.walk(function):
        if constants_matter and isinstance(node, ast.Assert) and _compares_constants(node, inner):
            yield node.lineno, "compares constants with constants"


def _checks_anything(function: ast.FunctionDef, scope: Scope, depth: int = 3) -> bool:
    """Whether there is a check at all, in it or in what it calls."""
    for node in ast.walk(function):
        if isinstance(node, ast.Assert):
            return True
        if isinstance(node, ast.Call):
            found = scope.find(node.func.id) if isinstance(node.func, ast.Name) else None
            helper, there = found or (None, scope)
            if _checks(node.func, scope) or (
                depth > 0
                and isinstance(helper, ast.FunctionDef)
                and _checks_anything(helper, there, depth - 1)
            ):
                return True
    return False


def _is_law(function: ast.FunctionDef, scope: Scope) -> bool:
    """A law over drawn cases may have a premise: how often it holds no text can tell.

    Drawn by `given`, or by numbers that are counted out by a name: `range(CASES)`.
    """
    return any(_draws(each, scope) for each in function.decorator_list)


def _draws(decorator: ast.expr, scope: Scope) -> bool:
    if "given" in _name(decorator).split("(")[0]:
        return True
    if isinstance(decorator, ast.Name):
        found, there = scope.find(decorator.id) or (None, scope)
        return isinstance(found, ast.expr) and _draws(found, there)
    if not isinstance(decorator, ast.Call):
        return False
    if _name(decorator.func) == "range":
        return any(not isinstance(arg, ast.Constant) for arg in decorator.args)
    return any(_draws(arg, scope) for arg in decorator.args)


def _compares_constants(node: ast.Assert, scope: Scope) -> bool:
    """Not what guards a table: that it is filled, a text to replace is there, no value is None."""
    test = node.test
    if isinstance(test, ast.Name):
        return False
    if isinstance(test, ast.Compare):
        guards = ast.In | ast.NotIn | ast.Is | ast.IsNot
        return not isinstance(test.ops[0], guards) and is_constant(test, scope)
    return is_constant(test, scope)


HEAD = """
import pytest
from decision.units import FT_PER_NM
from decision.rulebooks.rulebook import rulebook_ids
from tests.rules.builders import case_of
ROWS = [(1, 2), (3, 4)]
def helper(one):
    assert one
def some(one):
    for each in one:
        assert each
"""


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ("case_of()", "checks nothing"),
        ("for each in case_of(): assert each", "no check is certainly reached"),
        ("for each in range(0): assert each", "no check is certainly reached"),
        ("found = case_of()\n for each in found: helper(each)", "no check is certainly reached"),
        ("some(case_of())", "no check is certainly reached"),
        ("assert all(each for each in case_of())", "no check is certainly reached"),
        ("assert not [each for each in case_of() if each]", "no check is certainly reached"),
        ("assert not any(each for each in case_of())", "no check is certainly reached"),
        ("if case_of(): assert case_of()", "no check is certainly reached"),
        ("def inner(): assert case_of()", "no check is certainly reached"),
        ("while case_of(): assert case_of()", "no check is certainly reached"),
        ("assert 2.5 / 100.0 * FT_PER_NM == pytest.approx(152.0)", "compares constants"),
        ("one, other = 3.0, 4.0\n assert round(one * 2) == other + 2", "compares constants"),
        ("assert True", "compares constants"),
    ],
)
def test_a_test_that_cannot_fail_is_found(body: str, fault: str) -> None:
    (found,) = faults(f"{HEAD}def test_it():\n {body}\n")
    assert fault in found


@pytest.mark.parametrize(
    "body",
    [
        "assert case_of()",
        "helper(case_of())",
        "found = case_of()\n assert found\n for each in found: assert each",
        "for one, other in ROWS: assert case_of(one) == other",
        "for each in (*ROWS, *case_of()): assert each",
        "for each in rulebook_ids(): assert case_of(each)",
        "for each in [case_of(one) for one, _ in ROWS]: assert each",
        "with pytest.raises(ValueError): case_of()",
        "if case_of(): assert case_of(1)\n else: assert case_of(2)",
        "assert all(case_of(each) for each in ROWS)",
        "found = []\n found.append(case_of())\n assert found == [1]",
        "count = 0\n count += case_of()\n assert count == 1",
    ],
)
def test_a_test_that_can_fail_is_let_pass(body: str) -> None:
    assert faults(f"{HEAD}def test_it():\n {body}\n") == []


def test_parametrized_literals_are_constants_and_what_is_drawn_may_have_a_premise() -> None:
    cases = '@pytest.mark.parametrize("one", [1.0, 2.0])\ndef test_it(one):\n assert one * 2 > 1\n'
    assert len(faults(HEAD + cases)) == 1
    premise = "def test_it(one):\n if one > 1: assert case_of(one)\n"
    seeded = 'ALL = pytest.mark.parametrize("one", range(CASES))\n@ALL\n'
    for law in ("@given(st.floats())\n", seeded):
        assert faults(HEAD + law + premise) == []
    few = '@pytest.mark.parametrize("one", range(3))\n'
    for no_law in ("", few):
        assert len(faults(HEAD + no_law + premise)) == 1


def test_every_file_of_tests_is_read() -> None:
    assert Path(__file__) in FILES
    assert len(FILES) > 100


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_a_test_can_fail(path: Path) -> None:
    name = path.relative_to(ROOT).as_posix()
    assert faults(path.read_text(encoding="utf-8"), name) == []
