"""The library with the aerodromes of an operator's folder, read at the start.

A file has the shape of an aerodrome in a request, in TOML, with `source` and `version`. A folder
that has been compiled is read from its index, and the start ends where a file has changed since:
nobody decides on data that are older than they look.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final, NamedTuple

from decision.case import Aerodrome, Library, installed_library
from decision.case.library import digest_of_files, files_in, library_with, load_aerodrome
from decision.errors import DataError
from service.aerodromes.index import INDEX, opened_index

FOLDER: Final = "APPROACH_AERODROMES"
COMPILE: Final = "python -m service.aerodromes compile"


def library_from(folder: Path | None) -> Library:
    """The library of a folder; None: the installed one.

    Raises: DataError naming the file, the key and the problem; of an index that is not of the files
    beside it the command that makes it anew.
    """
    if folder is None:
        return installed_library()
    if not folder.is_dir():
        raise DataError(str(folder), FOLDER, "is no folder that can be read")
    files = files_in(folder)
    if not files:
        raise DataError(str(folder), FOLDER, "has no aerodrome files (*.toml)")
    digest = digest_of_files(files)
    if (folder / INDEX).exists():
        return opened_index(folder, digest=digest)
    return library_with(loaded_from(files), digest=digest)


class Loaded(NamedTuple):
    """A folder as it was when the service read it."""

    folder: Path
    digest: str


def loaded_of(folder: Path | None, library: Library) -> Loaded | None:
    """What a process that is begun later has to find."""
    return None if folder is None else Loaded(folder, library.gazette.digest)


def library_as(loaded: Loaded | None) -> Library:
    """The library that a folder gave before; None: the installed one.

    Raises: DataError as `library_from`, and where the folder has changed: two processes of one
    service must not decide on different data.
    """
    library = library_from(None if loaded is None else loaded.folder)
    if loaded is not None and library.gazette.digest != loaded.digest:
        raise DataError(str(loaded.folder), FOLDER, "has changed since the service started")
    return library


@lru_cache(maxsize=1)
def kept_library(loaded: Loaded | None) -> Library:
    """The same, read once by a process."""
    return library_as(loaded)


def loaded_from(files: list[Path]) -> list[Aerodrome]:
    """The aerodromes of some files. Raises: DataError, also where two have one name."""
    loaded: dict[str, Aerodrome] = {}
    for path in files:
        aerodrome = load_aerodrome(path)
        if aerodrome.icao in loaded:
            raise DataError(path.name, "icao", f"{aerodrome.icao} is in another file, too")
        loaded[aerodrome.icao] = aerodrome
    return list(loaded.values())
