"""The worked numbers in the docstrings of the calculators are what the calculators say."""

from __future__ import annotations

import doctest
import importlib

import pytest

CALCULATORS = {
    "climb": ("climb",),
    "diversion": ("fly_diversion",),
    "holding": ("holding_limit_kt", "holding_speed_kt", "holding_flow_kg_per_h"),
    "landing": ("landing",),
}
WORKED = [(module, name) for module, names in CALCULATORS.items() for name in names]


@pytest.mark.parametrize(("module", "name"), WORKED, ids=[name for _, name in WORKED])
def test_a_calculator_gives_the_number_that_is_worked_in_its_docstring(
    module: str, name: str
) -> None:
    room = importlib.import_module(f"decision.performance.{module}")
    found = doctest.DocTestFinder(recurse=False).find(getattr(room, name), name, globs=vars(room))
    tried = [doctest.DocTestRunner().run(each) for each in found]
    assert sum(each.attempted for each in tried) > 0
    assert sum(each.failed for each in tried) == 0
