"""One word for one thing: no two classes have the same name."""

from __future__ import annotations

import ast
from collections import defaultdict

from service.settings import ROOT


def test_no_name_of_a_class_is_used_twice() -> None:
    where: dict[str, list[str]] = defaultdict(list)
    for package in ("decision", "service"):
        for path in sorted((ROOT / package).rglob("*.py")):
            for node in ast.parse(path.read_text(encoding="utf-8")).body:
                if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                    where[node.name].append(path.relative_to(ROOT).as_posix())
    assert len(where) > 400
    assert {name: paths for name, paths in where.items() if len(paths) > 1} == {}
