"""The cases whose decisions are recorded, and the file that holds them.

`python -m tests.recorded` writes the file anew; a change of a decision is meant and named in the
changelog, or it is a fault.
"""

from __future__ import annotations

import json
import lzma
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, Final

from tests.answer.told import told
from tests.case.builders import NAMES, demo
from tests.outside.drawn import drawn
from tests.recorded.facts import Facts, facts_of

FILE: Final = Path(__file__).with_name("decisions.jsonl.xz")
DRAWN: Final = 500


def names() -> list[str]:
    """Every recorded case by name: the demo cases, then those by chance."""
    return [*NAMES, *map(str, range(DRAWN))]


def body_of(name: str) -> dict[str, Any]:
    """The request of a recorded case."""
    return drawn(int(name)).body if name.isdigit() else demo(name)


def decided(name: str) -> Facts:
    """What is decided of it now."""
    return facts_of(drawn(int(name)).answer if name.isdigit() else told(demo(name)))


@cache
def lines() -> dict[str, str]:
    """What was decided of each, still as text: as facts all of it would fill the memory."""
    with lzma.open(FILE, "rt") as file:
        return dict(zip(names(), file, strict=True))


def recorded(name: str) -> Facts:
    """What was decided of a case."""
    kept = json.loads(lines()[name])
    assert kept["name"] == name
    facts: Facts = kept["facts"]
    return facts


def write() -> None:
    """Record what is decided now."""
    with lzma.open(FILE, "wt", preset=9) as file:
        file.writelines(_lines())


def _lines() -> Iterator[str]:
    for name in names():
        yield json.dumps({"name": name, "facts": decided(name)}, separators=(",", ":")) + "\n"
