"""`python -m tests.bench [WORD ...]`: print the comparisons whose title holds every word.

Each module of this package that has `COMPARISONS` takes part.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Iterator, Sequence

from tests import bench
from tests.bench.measure import Comparison, measure, table


def comparisons(words: Sequence[str]) -> Iterator[Comparison]:
    """All comparisons of the package, module by module."""
    for module in sorted(pkgutil.iter_modules(bench.__path__), key=lambda found: found.name):
        if module.name != "__main__":
            loaded = importlib.import_module(f"{bench.__name__}.{module.name}")
            found: tuple[Comparison, ...] = getattr(loaded, "COMPARISONS", ())
            yield from (c for c in found if all(word in c.title for word in words))


if __name__ == "__main__":
    sys.stdout.write(table(map(measure, comparisons(sys.argv[1:]))) + "\n")
