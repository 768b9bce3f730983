"""Many aerodromes in one file: found by name and by where they are, each read when it is asked for.

The file is mapped, so that all processes share it and a start reads its heading alone. It says of
which files it was made and how long its parts are, and ends in the digest of all that.
"""

from __future__ import annotations

import hashlib
import mmap
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from decision.case import Aerodrome, Library
from decision.case.aerodromes import read_aerodrome
from decision.case.atlas import Atlas
from decision.case.library import library_of
from decision.case.spec import BodyReading
from decision.case.written import AERODROME, described
from decision.errors import DataError
from service.whole import whole_file

INDEX: Final = "aerodromes.index"
ANEW: Final = "; make it anew: python -m service.aerodromes compile FOLDER"
SHAPE: Final = hashlib.sha256(repr(AERODROME).encode()).hexdigest()
"""Of what an aerodrome is: an index that another version has made is read as nothing else."""
KEPT: Final = 512  # read lately; a flight asks again and again for the same ones
LENGTH_BYTES: Final = 8
DIGEST_BYTES: Final = 32
FLOAT: Final = "<f8"
COUNT: Final = "<i8"


class _Heading(msgspec.Struct, frozen=True, kw_only=True, gc=False, array_like=True):
    """What stands before the aerodromes: `ends` of each, by name; the atlas by latitude."""

    shape: str
    files_digest: str
    icaos: tuple[str, ...]
    ends: bytes
    placed: tuple[str, ...]
    latitudes_deg: bytes
    longitudes_deg: bytes


class IndexedAerodromes(Mapping[str, Aerodrome]):
    """Aerodromes by indicator, each read from the file when it is asked for."""

    def __init__(self, content: memoryview, icaos: Sequence[str], ends: NDArray[np.int64]) -> None:
        self._content, self._ends = content, ends
        self._rows = {icao: row for row, icao in enumerate(icaos)}
        self._read = lru_cache(maxsize=KEPT)(self._row)

    def __getitem__(self, icao: str) -> Aerodrome:
        return self._read(self._rows[icao])

    def __contains__(self, icao: object) -> bool:
        return icao in self._rows

    def __iter__(self) -> Iterator[str]:
        return iter(self._rows)

    def __len__(self) -> int:
        return len(self._rows)

    def _row(self, row: int) -> Aerodrome:
        first = int(self._ends[row - 1]) if row else 0
        body = msgspec.msgpack.decode(self._content[first : int(self._ends[row])])
        return read_aerodrome(body, "", BodyReading())  # it was checked when it was compiled


def write_index(folder: Path, loaded: Sequence[Aerodrome], *, digest: str, atlas: Atlas) -> Path:
    """Write the index of a folder whose files have this digest; there is a whole one or none."""
    ordered = sorted(loaded, key=lambda each: each.icao)
    bodies = [msgspec.msgpack.encode(described(each)) for each in ordered]
    heading = msgspec.msgpack.encode(
        _Heading(
            shape=SHAPE,
            files_digest=digest,
            icaos=tuple(each.icao for each in ordered),
            ends=np.cumsum([len(each) for each in bodies]).astype(COUNT).tobytes(),
            placed=atlas.icaos,
            latitudes_deg=atlas.latitudes_deg.astype(FLOAT).tobytes(),
            longitudes_deg=atlas.longitudes_deg.astype(FLOAT).tobytes(),
        )
    )
    content = len(heading).to_bytes(LENGTH_BYTES, "little") + heading + b"".join(bodies)
    index = folder / INDEX
    with whole_file(index) as opened:
        opened.writelines((content, hashlib.sha256(content).digest()))
    return index


def opened_index(folder: Path, *, digest: str) -> Library:
    """The library of an index. Raises: DataError where it is damaged or not of these files."""
    content = _mapped(folder / INDEX)
    whole, told = content[:-DIGEST_BYTES], content[-DIGEST_BYTES:]
    if hashlib.sha256(whole).digest() != told:
        raise DataError(INDEX, "digest", f"the file is damaged{ANEW}")
    length = int.from_bytes(whole[:LENGTH_BYTES], "little")
    heading = _heading(whole[LENGTH_BYTES : LENGTH_BYTES + length])
    if heading.files_digest != digest:
        raise DataError(INDEX, "files", f"a file has changed since this was compiled{ANEW}")
    aerodromes = IndexedAerodromes(
        whole[LENGTH_BYTES + length :], heading.icaos, np.frombuffer(heading.ends, dtype=COUNT)
    )
    atlas = Atlas(
        heading.placed,
        np.frombuffer(heading.latitudes_deg, dtype=FLOAT),
        np.frombuffer(heading.longitudes_deg, dtype=FLOAT),
    )
    return library_of(aerodromes, atlas, digest=digest)


def _mapped(path: Path) -> memoryview:
    try:
        with path.open("rb") as file:
            return memoryview(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ))
    except (OSError, ValueError) as error:  # an empty file cannot be mapped
        raise DataError(path.name, "file", f"{error}{ANEW}") from None


def _heading(content: memoryview) -> _Heading:
    """Raises: DataError where another version has made it."""
    try:
        heading = msgspec.msgpack.decode(content, type=_Heading)
    except msgspec.MsgspecError:
        heading = None
    if heading is None or heading.shape != SHAPE:
        raise DataError(INDEX, "shape", f"another version has made it{ANEW}")
    return heading
