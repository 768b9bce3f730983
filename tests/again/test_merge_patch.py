"""JSON Merge Patch by the examples of its own definition."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from decision.again.merge_patch import mentions, merged
from decision.errors import InvalidCase

# RFC 7396, appendix A, "Example Test Cases": original, patch, result.
APPENDIX_A = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]


@pytest.mark.parametrize(("original", "patch", "result"), APPENDIX_A)
def test_the_examples_of_rfc_7396_come_out_as_it_says(
    original: str, patch: str, result: str
) -> None:
    assert merged(json.loads(original), json.loads(patch)) == json.loads(result)


def test_neither_target_nor_patch_is_changed() -> None:
    target: dict[str, Any] = {"a": {"b": 1, "c": 2}}
    patch: dict[str, Any] = {"a": {"b": None, "d": {"e": 1}}}
    kept = copy.deepcopy((target, patch))
    assert merged(target, patch) == {"a": {"c": 2, "d": {"e": 1}}}
    assert (target, patch) == kept


def test_a_patch_without_end_of_depth_is_a_fault_of_it() -> None:
    patch: dict[str, Any] = {}
    for _ in range(50_000):
        patch = {"a": patch}
    with pytest.raises(InvalidCase) as error:
        merged({}, patch)
    assert [each.code for each in error.value.faults] == ["nesting"]
    while patch:  # so that it is not taken apart in one go
        patch = patch.pop("a")


@pytest.mark.parametrize(
    ("patch", "said"),
    [
        ({"fuel": {"on_board_kg": 3000}}, True),
        ({"fuel": {"on_board_kg": None}}, True),
        ({"fuel": None}, True),
        ({"fuel": [1]}, True),
        ({"fuel": {"unusable_kg": 1}}, False),
        ({"aircraft": {"on_board_kg": 1}}, False),
        ({}, False),
    ],
)
def test_a_patch_speaks_of_what_it_sets_removes_or_replaces(
    patch: dict[str, Any], said: bool
) -> None:
    assert mentions(patch, ("fuel", "on_board_kg")) is said
