"""`python -m service.replay FOLDER`: replay a season and write the page that tells of it.

Without an archive the season is invented. The folder keeps the sweep, so that it can be resumed.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from decision.case import installed_library
from decision.options import EXIT_BAD_INPUT, Options
from decision.quantities import SlatPosition
from decision.sweep import Shift, SweepRow, SweepScope
from decision.systems import Failure
from decision.version import ENGINE_VERSION
from service.replay.archive import Archive, read_archive
from service.replay.invented import invented_season
from service.replay.network import INVENTED, Network, cases_of, read_network
from service.replay.study import Study, figures_of, page_of
from service.replay.tally import Season, tallied
from service.sweeps.engines import on_this_machine
from service.sweeps.flights import ROW
from service.sweeps.folder import ROWS, SweepFolder
from service.sweeps.part import parts_of

BEGIN: Final = datetime(2025, 12, 1, tzinfo=UTC)
DAYS, SEED = 90, 20251201
FAILURES: Final = (  # of different systems; [ASSUMED] to be of interest to a policy
    Failure(id="hydraulic-1"),
    Failure(id="hydraulic-2"),
    Failure(id="gear-retraction"),
    Failure(id="flaps-jammed", detent="0"),
    Failure(id="slats-jammed", position=SlatPosition.IN),
    Failure(id="engine-1"),
    Failure(id="pressurisation"),
    Failure(id="anti-skid"),
)
FUELS_KG: Final = (-200.0, 300.0, 600.0, 1000.0, 1500.0)
PAGE, FIGURES = "replay.md", "figures"


def main(arguments: Sequence[str] | None = None) -> int:
    """Replay, and write the page; the exit code."""
    given = _options().parse_args(arguments)
    try:
        network = read_network(given.network)
        archive, weather = _archive(given, network)
    except (OSError, ValueError) as error:
        print(error, file=sys.stderr)
        return EXIT_BAD_INPUT
    library = installed_library()
    cases = list(cases_of(network, archive, begin=given.begin, days=given.days, library=library))
    season = _season(cases, given.folder, processes=given.processes)
    study = Study(
        network=network,
        days=given.days,
        weather=weather,
        command=_command(given),
        engine_version=ENGINE_VERSION,
        digest=hashlib.sha256(json.dumps(cases).encode()).hexdigest(),
    )
    pages: Path = given.pages or given.folder
    (pages / FIGURES).mkdir(parents=True, exist_ok=True)
    (pages / PAGE).write_text(page_of(study, season), encoding="utf-8")
    for name, figure in figures_of(season).items():
        (pages / FIGURES / name).write_text(figure, encoding="utf-8")
    return 0


def _archive(given: Any, network: Network) -> tuple[Archive, str]:  # noqa: ANN401 - of argparse
    """The reports, and what they are in words. Raises: ValueError, OSError."""
    if given.archive is not None:
        return Archive(read_archive(given.archive)), f"archived reports ({given.archive.name})"
    drawn = invented_season(network.places, begin=given.begin, days=given.days, seed=given.seed)
    return Archive(drawn), f"invented, drawn from seed {given.seed}; nobody's climate"


def asked_of_each() -> SweepScope:
    """What every flight is asked with."""
    return SweepScope(
        failures=FAILURES,
        as_it_is=True,
        shifts=tuple(Shift(fuel_kg=each) for each in FUELS_KG),
    )


def _season(cases: Sequence[dict[str, Any]], path: Path, *, processes: int) -> Season:
    """Sweep what is not swept yet, and count the rows."""
    parts, folder = list(parts_of(cases, asked_of_each())), SweepFolder(path)
    with on_this_machine(processes) as engine:
        folder.fill(parts, engine)
    folder.close(parts)
    destinations = [str(case["destination"]["icao"]) for case in cases]
    return tallied(_rows(path / ROWS), destinations)


def _rows(file: Path) -> Iterator[SweepRow]:
    with file.open("rb") as lines:
        yield from map(ROW.decode, lines)


def _command(given: Any) -> str:  # noqa: ANN401 - of argparse
    words = [f"--days {given.days}"] if given.days != DAYS else []
    if given.archive is not None:
        words.append(f"--archive {given.archive.name}")
    elif given.seed != SEED:
        words.append(f"--seed {given.seed}")
    return " ".join(["python -m service.replay FOLDER", *words])


def _options() -> Options:
    options = Options(
        name="approach-replay",
        module="service.replay",
        description="Replay a season of a network: how often each verdict, which failures turn it,"
        " what reserve buys.",
    )
    options.add_argument("folder", metavar="FOLDER", type=Path, help="for the sweep; kept")
    options.add_argument("--pages", type=Path, help="where the page and its figures go")
    options.add_argument("--network", type=Path, default=INVENTED, help="the flights; a TOML file")
    options.add_argument("--archive", type=Path, help="reports: a moment, a space, a report a line")
    options.add_argument(
        "--begin", type=_moment, default=BEGIN, help="the first day, as 2025-12-01"
    )
    options.add_argument("--days", type=int, default=DAYS)
    options.add_argument("--seed", type=int, default=SEED, help="of the invented weather")
    options.add_argument("--processes", type=int, default=os.cpu_count() or 1, metavar="N")
    return options


def _moment(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


if __name__ == "__main__":
    sys.exit(main())
