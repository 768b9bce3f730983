"""The published document is the types: nothing is told that is not declared and described."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

import jsonschema_rs
import pytest

from decision.answer.schema import PUBLISHED, published_name, schemas
from decision.case import case_from_mapping
from decision.recommend import recommend_mapping
from tests.recorded.keep import body_of, names

SCHEMAS = schemas()
# Names that end so are figures with that unit; what else a figure is of, its unit is beside it.
UNIT_OF = {
    "_kg": "kg",
    "_nm": "NM",
    "_ft": "ft",
    "_kt": "kt",
    "_min": "min",
    "_percent": "percent",
    "_m": "m",
    "_mm": "mm",
    "_hpa": "hPa",
    "_degc": "degrees Celsius",
    "_true_deg": "degrees",
    "_mj": "MJ",
    "_kg_per_h": "kg/h",
    "_ft_per_nm": "ft/NM",
}
TRIED = [name for name in names() if not name.isdigit() or int(name) % 100 == 0]


def faults(answer: Any, name: str = "Answer") -> list[str]:
    """What an answer has that its schema does not, or has otherwise."""
    errors = validator_of(name).iter_errors(answer)
    return [f"{error.instance_path}: {error.message[:200]}" for error in errors]


@cache
def validator_of(name: str) -> jsonschema_rs.Draft202012Validator:
    schema = {"$ref": f"#/components/schemas/{name}", "components": {"schemas": SCHEMAS}}
    return jsonschema_rs.Draft202012Validator(schema)


def with_everything(body: dict[str, Any]) -> dict[str, Any]:
    included = ["flip_points", "uncertainty", "steps", "findings", "ahead"]
    return {**body, "include": included, "compare_rulebooks": True}


@pytest.mark.parametrize("name", TRIED)
def test_every_member_of_a_real_answer_is_declared_and_has_its_form(name: str) -> None:
    body = with_everything(body_of(name))
    assert faults(recommend_mapping(case_from_mapping(body))) == []


def test_a_member_that_is_not_declared_is_found() -> None:
    answer = recommend_mapping(case_from_mapping(body_of("gear-stuck")))
    answer["courses"][0]["colour"] = "red"
    assert ["colour" in each for each in faults(answer)] == [True]


def members() -> Iterator[tuple[str, str, dict[str, Any]]]:
    for name, schema in SCHEMAS.items():
        for member, declared in schema.get("properties", {}).items():
            yield name, member, declared


def test_every_published_member_is_described() -> None:
    assert [(name, member) for name, member, told in members() if not told["description"]] == []
    assert all(SCHEMAS[published_name(each)]["description"] for each in PUBLISHED)


def test_every_figure_whose_name_has_a_unit_declares_it() -> None:
    wrong = [
        (name, member, told.get("x-unit"))
        for name, member, told in members()
        for ending in [max((end for end in UNIT_OF if member.endswith(end)), key=len, default="")]
        if ending and told.get("x-unit") != UNIT_OF[ending]
    ]
    assert wrong == []


def test_every_object_is_closed() -> None:
    objects = [each for each in SCHEMAS.values() if "properties" in each]
    assert objects
    assert all(each["additionalProperties"] is False for each in objects)
    assert all(each["required"] == [*each["properties"]] for each in objects)
