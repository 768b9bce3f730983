"""The little tool that breaks the rules: what it changes, and what it leaves alone."""

from __future__ import annotations

import pytest

from tests.bench.mutants import modules, mutants_of

WHOLE = '''
@cache(maxsize=7)
def judged(value: float = 1.5, *, at: bool = True) -> float | None:
    """Words that stay."""
    if value < 2 and not at:
        return -value * 3
    return value if at is None else "text"
'''


@pytest.mark.parametrize(
    ("line", "what", "becomes"),
    [
        (5, "Lt -> LtE", "if value <= 2 and (not at):"),
        (5, "Lt -> GtE", "if value >= 2 and (not at):"),
        (5, "and <-> or", "if value < 2 or not at:"),
        (5, "condition negated", "if not (value < 2 and (not at)):"),
        (5, "not removed", "if value < 2 and (not not at):"),
        (5, "2 -> 3", "if value < 3 and (not at):"),
        (6, "Mult -> Div", "return -value / 3"),
        (6, "3 -> 4", "return -value * 4"),
        (6, "minus removed", "return +value * 3"),
        (6, "returns None", "return None"),
        (7, "Is -> IsNot", "return value if at is not None else 'text'"),
        (3, "1.5 -> 2.5", "def judged(value: float=2.5, *, at: bool=True) -> float | None:"),
        (3, "True -> False", "def judged(value: float=1.5, *, at: bool=False) -> float | None:"),
    ],
)
def test_each_kind_of_change_is_made_where_it_says(line: int, what: str, becomes: str) -> None:
    (mutant,) = [
        each for each in mutants_of("m.py", WHOLE) if (each.line, each.what) == (line, what)
    ]
    assert becomes in [each.strip() for each in mutant.source(WHOLE).splitlines()]


def test_decorators_annotations_and_texts_are_left_alone() -> None:
    made = [mutant.source(WHOLE) for mutant in mutants_of("m.py", WHOLE)]
    assert len(set(made)) == len(made)
    for source in made:
        assert "@cache(maxsize=7)" in source
        assert "-> float | None:" in source
        assert "'''Words" in source or '"""Words that stay."""' in source


def test_every_module_of_the_rules_takes_part() -> None:
    names = modules([])
    assert "decision/windows.py" in names
    assert "decision/rules/minima/planning.py" in names
    assert modules(["windows"]) == ["decision/windows.py"]
