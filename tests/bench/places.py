"""Many aerodromes: what a start, a search and a proposal cost. `python -m tests.bench.places`.

Start and memory are of processes of their own, with the invented aerodromes and with so many in a
compiled folder, in turn; searches are of points all over the earth. Processor time where not said.
"""

from __future__ import annotations

import json
import random
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from decision.case import Library, written_out
from decision.case.library import AERODROMES
from decision.quantities import Position
from service.aerodromes.__main__ import main as aerodromes
from service.aerodromes.folder import library_from
from service.settings import ROOT
from tests.case.builders import demo, with_changes
from tests.case.loaded import names

COUNT: Final = 10_000
ROUNDS: Final = 7
POINTS: Final = 200
RADII_NM: Final = (100.0, 250.0, 500.0, 1000.0, 3000.0)
START: Final = """
import json, resource, sys, time
from pathlib import Path
from service.aerodromes.folder import library_from
begun = time.process_time()
library_from(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
taken = time.process_time() - begun
pages = Path("/proc/self/smaps_rollup").read_text()
held = {line.split(":")[0]: int(line.split()[1]) for line in pages.splitlines()[1:]}
print(json.dumps({"ms": 1000 * taken, "private_mb": held["Private_Dirty"] / 1024,
                  "rss_mb": held["Rss"] / 1024}))
"""


def made(folder: Path) -> Path:
    """A compiled folder of invented aerodromes all over the earth."""
    draw = random.Random(17)  # noqa: S311  # invented places
    text = (AERODROMES / "XKAL.toml").read_text(encoding="utf-8")
    for icao in names(COUNT):
        moved = (
            text.replace('"XKAL"', f'"{icao}"')
            .replace("latitude_deg = 47.0", f"latitude_deg = {draw.uniform(-60.0, 75.0):.5f}")
            .replace("longitude_deg = -35.0", f"longitude_deg = {draw.uniform(-180.0, 180.0):.5f}")
        )
        (folder / f"{icao}.toml").write_text(moved, encoding="utf-8")
    aerodromes(["compile", str(folder)])
    return folder


def started(*folder: str) -> dict[str, float]:
    """What loading the library takes in a process of its own."""
    command = [sys.executable, "-c", START, *folder]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    found: dict[str, float] = json.loads(ran.stdout)
    return found


def timed_ms(calls: Iterator[Callable[[], object]]) -> list[float]:
    """Milliseconds of each call."""
    found = []
    for call in calls:
        begun = time.process_time()
        call()
        found.append(1000.0 * (time.process_time() - begun))
    return sorted(found)


def searches(library: Library, radius_nm: float) -> Iterator[Callable[[], object]]:
    """Searches around points all over the earth."""
    draw = random.Random(23)  # noqa: S311  # invented places
    for _ in range(POINTS):
        centre = Position(
            latitude_deg=draw.uniform(-60.0, 75.0), longitude_deg=draw.uniform(-180.0, 180.0)
        )
        yield lambda centre=centre: library.atlas.within(centre, radius_nm, most=100)  # type: ignore[misc]


def proposals(library: Library) -> Iterator[Callable[[], object]]:
    """Cases written out, each at another place."""
    draw = random.Random(29)  # noqa: S311  # invented places
    described = demo("clean")
    destination = {
        "icao": "ZDES",
        "elevation_ft": 180,
        "runways": [{"ident": "27", "true_bearing_deg": 270, "lda_m": 3000}],
        "approaches": [],
    }
    for _ in range(40):
        position = {
            "latitude_deg": draw.uniform(-60.0, 75.0),
            "longitude_deg": draw.uniform(-180.0, 180.0),
        }
        body = with_changes(
            described,
            {
                "/destination": destination,
                "/plan": {},
                "/alternates": [],
                "/aircraft/position": position,
                "/propose_alternates": {"most": 5, "within_nm": 500},
            },
        )
        yield lambda body=body: written_out(body, library=library)  # type: ignore[misc]


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as there:
        folder = made(Path(there))
        runs = [(started(), started(str(folder))) for _ in range(ROUNDS)]
        for name in ("ms", "private_mb", "rss_mb"):
            plain, many = (statistics.median(run[way][name] for run in runs) for way in (0, 1))
            print(f"start, {name}: invented {plain:.1f}, {COUNT} compiled {many:.1f}")
        library = library_from(folder)
        for radius_nm in RADII_NM:
            taken = timed_ms(searches(library, radius_nm))
            print(
                f"search within {radius_nm:.0f} NM: median {statistics.median(taken):.2f} ms,"
                f" 95 % {taken[int(0.95 * len(taken))]:.2f} ms, worst {taken[-1]:.2f} ms"
            )
        taken = timed_ms(proposals(library))
        print(
            f"a case written out: median {statistics.median(taken):.1f} ms, worst {taken[-1]:.1f}"
        )


if __name__ == "__main__":
    main()
