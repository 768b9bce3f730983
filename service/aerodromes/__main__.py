"""`python -m service.aerodromes`: compile a folder of aerodromes, or make one of open tables.

Exit 2: a file, a map or a table is wrong, and which, or wrong arguments.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from decision.case.library import digest_of_files, files_in, library_with
from decision.errors import DataError
from decision.legible import visible
from service.aerodromes.folder import loaded_from
from service.aerodromes.index import write_index
from service.aerodromes.tables import Imported, import_tables

FINE: Final = 0
WRONG: Final = 2
SHOWN: Final = 8  # names of those that were left out for one reason


def main(arguments: Sequence[str] | None = None) -> int:
    """Do what is asked; returns the exit code."""
    asked = _options().parse_args(arguments)
    try:
        return COMMANDS[asked.command](asked)
    except (DataError, OSError) as error:
        print(visible(str(error)), file=sys.stderr)
        return WRONG


def _compile(asked: argparse.Namespace) -> int:
    files = files_in(asked.folder)
    digest = digest_of_files(files)
    loaded = loaded_from(files)
    library = library_with(loaded, digest=digest)
    written = write_index(asked.folder, loaded, digest=digest, atlas=library.atlas)
    unplaced = len(loaded) - len(library.atlas)
    print(f"{written}: {len(loaded)} aerodromes, digest {digest}")
    if unplaced:
        print(f"{unplaced} without a position: they are never proposed")
    return FINE


def _import(asked: argparse.Namespace) -> int:
    _tell(import_tables(asked.map, asked.folder, replace=asked.replace), asked.folder)
    return FINE


def _tell(told: Imported, folder: Path) -> None:
    print(f"{len(told.written)} aerodromes written to {folder}, {len(told.kept)} kept as they were")
    print("not in the tables, so unknown: approaches and their minima, landing distance available")
    if told.level:
        print(f"{told.level} landing directions without a slope: taken as level")
    for why, names in sorted(told.left_out.items(), key=lambda each: -len(each[1])):
        more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
        print(visible(f"left out, {why}: {', '.join(names[:SHOWN])}{more}"))


COMMANDS: Final = {"compile": _compile, "import": _import}


def _options() -> argparse.ArgumentParser:
    options = argparse.ArgumentParser(
        prog="python -m service.aerodromes",
        description="Compile a folder of aerodromes, or make one of open tables.",
    )
    commands = options.add_subparsers(dest="command", required=True)
    compiling = commands.add_parser("compile", help="write the index that many files are read from")
    importing = commands.add_parser("import", help="write a file for each aerodrome of two tables")
    importing.add_argument("map", type=Path, help="the map of the columns (TOML)")
    for each in (compiling, importing):
        each.add_argument("folder", type=Path, help="the folder of the aerodrome files")
    importing.add_argument("--replace", action="store_true", help="also files that are there")
    return options


if __name__ == "__main__":
    sys.exit(main())
