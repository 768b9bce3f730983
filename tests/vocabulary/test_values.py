"""Values cannot change after they are made, say their members by name, and burden no collector."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from types import ModuleType

import pytest
from msgspec import Struct

import decision

IN_ORDER = {"RuleRow", "Checked", "Rule", "Window"}  # rows of a table; from and until


def modules() -> Iterator[ModuleType]:
    """Every module of the package but commands."""
    for each in pkgutil.walk_packages(decision.__path__, "decision."):
        if not each.name.endswith("__main__"):
            yield importlib.import_module(each.name)


VALUES = {
    f"{kind.__module__}.{kind.__name__}": kind
    for module in modules()
    for _, kind in inspect.getmembers(module, inspect.isclass)
    if issubclass(kind, Struct) and kind.__module__ == module.__name__
}


def test_there_are_values_in_every_room() -> None:
    rooms = {name.split(".")[1] for name in VALUES}
    assert {"case", "flight", "attempt", "decide", "answer", "performance", "weather"} <= rooms
    assert len(VALUES) > 150


@pytest.mark.parametrize("name", VALUES)
def test_a_value_is_frozen_and_holds_no_cycle_that_a_collector_would_look_for(name: str) -> None:
    config = VALUES[name].__struct_config__
    assert config.frozen
    assert not config.gc


@pytest.mark.parametrize("name", [each for each in VALUES if each.split(".")[-1] not in IN_ORDER])
def test_the_members_of_a_value_are_given_by_name(name: str) -> None:
    kind = VALUES[name]
    if not kind.__struct_fields__:
        kind()
        return
    with pytest.raises(TypeError, match=r"positional|Missing"):
        kind(*kind.__struct_fields__)
