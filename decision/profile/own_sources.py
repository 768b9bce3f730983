"""An operator's own bibliography: the table `[sources]` of its profile, for both of its files.

    [sources.PERFORMANCE-MANUAL]
    title = "Performance manual"
    edition = "revision 12"
    confidence = "found"

So an operator cites its manuals without a change to the bibliography of the product. A key of that
one keeps its meaning: it cannot be given another here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from decision.citations import Confidence, Source, sources

OWN_SOURCES: Final = "sources"
KEY: Final = re.compile(r"[A-Z0-9]+(-[A-Z0-9]+)*")
MEMBERS: Final = ("title", "edition", "confidence")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnSources:
    """What the table gives: sources, and what is wrong with it as (key, problem)."""

    sources: tuple[Source, ...] = ()
    faults: tuple[tuple[str, str], ...] = ()

    def known(self, key: object) -> bool:
        """Whether a value may cite this key."""
        return key in sources() or any(own.key == key for own in self.sources)


NO_OWN_SOURCES: Final = OwnSources()


def read_own_sources(table: object) -> OwnSources:
    """The table `[sources]` of a file; every fault in it is in the answer."""
    if not isinstance(table, dict):
        return OwnSources(faults=((OWN_SOURCES, "must be a table of tables"),))
    read, faults = [], []
    for key, entry in table.items():
        found = list(_faults(key, entry))
        faults += found
        if not found:
            words = {name: entry[name] for name in ("title", "edition")}
            read.append(Source(key=key, confidence=Confidence(entry["confidence"]), **words))
    return OwnSources(sources=tuple(read), faults=tuple(faults))


def _faults(key: str, entry: object) -> Iterator[tuple[str, str]]:
    where = f"{OWN_SOURCES}.{key}"
    if not KEY.fullmatch(key):
        yield where, "must be named in capitals, digits and hyphens"
    if key in sources():
        yield where, "is a key of the product's own bibliography"
    if not isinstance(entry, dict):
        yield where, "must be a table { title, edition, confidence }"
        return
    for name in sorted(set(entry) - set(MEMBERS)):
        yield f"{where}.{name}", "unknown key"
    for name in ("title", "edition"):
        value = entry.get(name)
        if not isinstance(value, str) or not value.strip():
            yield f"{where}.{name}", f"is {value!r}; must be text"
    words = [each.value for each in Confidence]
    if entry.get("confidence") not in words:
        problem = f"is {entry.get('confidence')!r}; must be one of {', '.join(words)}"
        yield f"{where}.confidence", problem
