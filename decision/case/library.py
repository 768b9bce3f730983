"""The data that a case may name: aerodromes and profiles that are installed with the product.

An aerodrome file has the shape that a request uses, plus `source` and `version`.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

from decision.case.aerodromes import DESCRIPTION, faults_of, read_aerodrome
from decision.case.atlas import Atlas, Placed, atlas_of
from decision.case.spec import BodyReading
from decision.case.types import Aerodrome, Gazette
from decision.case.written import AERODROME
from decision.citations import DATA
from decision.errors import DataError
from decision.profile import Profile, load_profile, profile_ids

AERODROMES: Final = DATA / "aerodromes"


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """Aerodromes by indicator, and a way to get a profile by id.

    `atlas` has those of known position; `gazette` says which aerodromes they are. `installed`:
    they come with the product, whose version says which they are.
    """

    aerodromes: Mapping[str, Aerodrome]
    atlas: Atlas
    gazette: Gazette
    profile_ids: tuple[str, ...]
    profile: Callable[[str], Profile]
    installed: bool = False


@cache
def installed_library() -> Library:
    """The library of this installation. Raises DataError when a file of it is wrong."""
    files = files_in(AERODROMES)
    loaded = [load_aerodrome(path) for path in files]
    return replace(library_with(loaded, digest=digest_of_files(files)), installed=True)


def library_with(loaded: Iterable[Aerodrome], *, digest: str) -> Library:
    """The installed profiles with these aerodromes, whose files have this digest."""
    aerodromes = {aerodrome.icao: aerodrome for aerodrome in loaded}
    placed = (
        Placed(each.icao, each.position)
        for each in aerodromes.values()
        if each.position is not None
    )
    return library_of(MappingProxyType(aerodromes), atlas_of(placed), digest=digest)


def library_of(aerodromes: Mapping[str, Aerodrome], atlas: Atlas, *, digest: str) -> Library:
    """The installed profiles with aerodromes that are found in an atlas."""
    return Library(
        aerodromes=aerodromes,
        atlas=atlas,
        gazette=Gazette(digest=digest, count=len(aerodromes)),
        profile_ids=profile_ids(),
        profile=load_profile,
    )


def files_in(folder: Path) -> list[Path]:
    """The aerodrome files of a folder, by name."""
    return sorted(folder.glob("*.toml"))


def digest_of_files(files: Iterable[Path]) -> str:
    """SHA-256 of the names and contents of files, in their order."""
    whole = hashlib.sha256()
    for path in files:
        content = path.read_bytes()
        whole.update(f"{path.name} {len(content)}\n".encode())
        whole.update(content)
    return whole.hexdigest()


def load_aerodrome(path: Path) -> Aerodrome:
    """One aerodrome file. Raises DataError naming file, key and what would be accepted."""
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except ValueError as error:  # what is no TOML, or no UTF-8
        raise DataError(path.name, "TOML", str(error)) from None
    for key in ("source", "version"):
        if not table.pop(key, None):
            raise DataError(path.name, key, "is required")
    for key in DESCRIPTION:
        if key not in table:
            raise DataError(path.name, key, "is required")
    for fault in AERODROME.faults(table):
        raise DataError(path.name, fault.pointer, f"{fault.message}; accepted: {fault.accepted}")
    aerodrome = read_aerodrome(table, "", BodyReading())
    for fault in faults_of(aerodrome, ""):
        raise DataError(path.name, fault.pointer, fault.message)
    return aerodrome
