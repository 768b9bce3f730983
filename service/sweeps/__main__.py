"""`python -m service.sweeps FLIGHTS.ndjson FOLDER`, installed `approach-sweep`: sweep many flights.

Rows, summaries and parts are files of the folder. Called again with the same flights and options it
goes on where it was broken off.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager
from importlib import import_module
from pathlib import Path
from typing import Any, Final

import msgspec

from decision.errors import DataError, InvalidCase
from decision.options import EXIT_BAD_INPUT, Options
from decision.sweep import Shift, SweepScope
from service.aerodromes.folder import library_from, loaded_of
from service.jsontext import read_sent
from service.sweeps.engines import Engine, on_this_machine
from service.sweeps.folder import ROWS, SweepFolder
from service.sweeps.part import parts_of
from service.sweeps.words import words_of

SOME_REFUSED: Final = 65  # of sysexits.h: EX_DATAERR
NO_CLUSTER: Final = 69  # EX_UNAVAILABLE
NOT_WRITTEN: Final = 74  # EX_IOERR
EXIT: Final = (
    f"exit code: 0 every flight told, {SOME_REFUSED} some were refused (refused.ndjson),"
    f" {EXIT_BAD_INPUT} bad input,\n{NO_CLUSTER} no cluster, {NOT_WRITTEN} the folder cannot be"
    " written; call again to go on"
)
TABLE: Final = "rows.parquet"
EXTRA: Final = {"cluster": "dask", "table": "parquet"}


class MissingExtra(Exception):
    """What is asked for needs libraries that are not installed."""

    def __init__(self, extra: str) -> None:
        super().__init__(f"not installed: the extra `{extra}` of this package")


def main(arguments: Sequence[str] | None = None) -> int:
    """Sweep the flights of a file; the exit code."""
    given = _options().parse_args(arguments)
    try:
        flights = list(_flights(given.flights))
        asked = _asked(given)
    except (OSError, ValueError, InvalidCase) as error:
        return _failed(EXIT_BAD_INPUT, f"{given.flights}: {error}")
    try:
        library = library_from(given.aerodromes)
    except DataError as error:
        return _failed(EXIT_BAD_INPUT, str(error))
    loaded = loaded_of(given.aerodromes, library)
    parts = list(parts_of(flights, asked, library=library, loaded=loaded))
    try:
        folder = SweepFolder(given.folder)
        with _engine(given) as engine:
            folder.fill(parts, engine)
        told = folder.close(parts)
        if given.parquet:
            _extra("table").write_table(given.folder / ROWS, given.folder / TABLE)
    except MissingExtra as error:
        return _failed(EXIT_BAD_INPUT, str(error))
    except TimeoutError as error:
        return _failed(NO_CLUSTER, f"{given.cluster}: {error}")
    except OSError as error:
        return _failed(NOT_WRITTEN, f"{given.folder}: {error}; call again to go on")
    print(*words_of(told.summaries()), sep="\n")
    return SOME_REFUSED if told.refused else 0


def _engine(given: Any) -> AbstractContextManager[Engine]:  # noqa: ANN401 - of argparse
    """Who works; begins with TimeoutError where there is no cluster at the address."""
    if given.cluster is None:
        return on_this_machine(given.processes)
    found: AbstractContextManager[Engine] = _extra("cluster").at(given.cluster)
    return found


def _extra(module: str) -> Any:  # noqa: ANN401 - a module
    """A module of this package that needs an extra. Raises: MissingExtra without it."""
    try:
        return import_module(f"service.sweeps.{module}")
    except ImportError as error:
        raise MissingExtra(EXTRA[module]) from error


def _flights(path: str) -> Iterator[dict[str, Any]]:
    """The case on each line that is not empty. Raises: ValueError, OSError, InvalidCase."""
    text = sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            body = read_sent(line)
            if not isinstance(body, dict):
                raise ValueError(f"line {number} is no object")
            yield body


def _asked(given: Any) -> SweepScope:  # noqa: ANN401 - what argparse found
    """What is asked, as a request would have it. Raises: ValueError."""
    asked = {
        "failures": [{"id": each} for each in given.failure],
        "shifts": [_shift(each) for each in given.shift],
        "as_it_is": given.as_it_is,
        "pairs": given.pairs,
        "from_minute": given.from_minute,
    }
    return msgspec.convert(asked, SweepScope)


def _shift(text: str) -> dict[str, float]:
    """`delay_min=10,fuel_kg=-300` as a shift. Raises: ValueError."""
    pairs = (each.partition("=") for each in text.split(","))
    made = {name.strip(): float(value) for name, _, value in pairs}
    if unknown := made.keys() - {*Shift.__struct_fields__}:
        raise ValueError(f"a shift has no {', '.join(sorted(unknown))}")
    return made


def _options() -> Options:
    options = Options(
        name="approach-sweep",
        module="service.sweeps",
        description="Ask many flights with failures that have not happened: which would leave one"
        " without a diversion, and from when.",
        after=EXIT,
    )
    options.add_argument("flights", metavar="FLIGHTS.ndjson", help="a case a line; - reads input")
    options.add_argument("folder", metavar="FOLDER", type=Path, help="for rows and summaries")
    options.add_argument(
        "--failure", action="append", default=[], metavar="ID", help="only this one, or these"
    )
    options.add_argument("--as-it-is", action="store_true", help="a row without a failure first")
    options.add_argument("--pairs", action="store_true", help="every two of them together as well")
    options.add_argument(
        "--shift",
        action="append",
        default=[],
        metavar="NAME=VALUE,...",
        help="as well with delay_min, headwind_kt, fuel_kg (more on board)",
    )
    options.add_argument(
        "--from-minute", action="store_true", help="from when on, continuing, to an hour"
    )
    options.add_argument(
        "--processes", type=int, default=os.cpu_count() or 1, metavar="N", help="of this machine"
    )
    options.add_argument(
        "--cluster", metavar="ADDRESS", help="a scheduler of dask instead, as tcp://host:8786"
    )
    options.add_argument(
        "--aerodromes",
        type=_folder,
        metavar="FOLDER",
        help="those that cases name; on a cluster at the same path of each worker",
    )
    options.add_argument("--parquet", action="store_true", help=f"write {TABLE} as well")
    return options


def _folder(text: str) -> Path:
    return Path(text).absolute()


def _failed(code: int, why: str) -> int:
    print(why, file=sys.stderr)
    return code


if __name__ == "__main__":
    sys.exit(main())
