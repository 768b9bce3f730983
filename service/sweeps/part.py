"""Parts of a sweep: what goes to whoever works on it, and what comes back. Bytes, both ways."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from decision.case import Library, installed_library
from decision.decide.work import Work
from decision.errors import Fault, InvalidCase
from decision.sweep import SweepScope, rows_of_flight
from decision.sweep.flight import count_of_rows
from service.aerodromes.folder import Loaded, kept_library
from service.bounds import limit_of
from service.jsontext import shown, write_json
from service.many import NO_FETCHING, RefusedLine, refused_by

MANY: Final = 16  # flights; of so many each is a part, and what its rows share is worked out once
ROWS_OF_FEW: Final = 24  # of a part of fewer [ASSUMED]: some tenths of a second each


class SweepPart(Struct, frozen=True, kw_only=True):
    """Some rows of one flight, `start` to `stop`; `asked`: the sweep without its flights.

    `stop`: None for all that there are, which are counted where it is worked on.

    `aerodromes`: folder and digest of those that it is decided with; None: the installed ones.
    """

    number: int
    flight: int
    body: bytes
    asked: bytes
    start: int
    stop: int | None
    aerodromes: tuple[str, str] | None = None

    @property
    def digest(self) -> str:
        """SHA-256 of what is asked: the same part of the same sweep has the same, wherever the
        folder of its aerodromes is.
        """
        what = None if self.aerodromes is None else ("", self.aerodromes[1])
        return hashlib.sha256(msgspec.json.encode(replace(self, aerodromes=what))).hexdigest()

    @property
    def loaded(self) -> Loaded | None:
        """What whoever works on it has to find."""
        return (
            None
            if self.aerodromes is None
            else Loaded(Path(self.aerodromes[0]), self.aerodromes[1])
        )


class SweptPart(Struct, frozen=True, kw_only=True):
    """The rows of a part as lines, or why there are none."""

    lines: bytes
    count: int
    refused: RefusedLine | None = None


def parts_of(
    flights: Sequence[Mapping[str, Any]],
    asked: SweepScope,
    *,
    library: Library | None = None,
    loaded: Loaded | None = None,
) -> Iterator[SweepPart]:
    """Every part, the flights in their order; a flight that is no case is a part by itself.

    `library`: what names in them mean; `loaded`: the folder that it was made of.
    """
    shelf = installed_library() if library is None else library
    aerodromes = None if loaded is None else (str(loaded.folder), loaded.digest)
    said = msgspec.json.encode(msgspec.convert(asked, SweepScope, from_attributes=True))
    cut = len(flights) < MANY
    number = 0
    for flight, body in enumerate(flights):
        for start, stop in _cuts(body, asked, shelf) if cut else ((0, None),):
            yield SweepPart(
                number=number,
                flight=flight,
                body=write_json(body),
                asked=said,
                start=start,
                stop=stop,
                aerodromes=aerodromes,
            )
            number += 1


def _cuts(
    body: Mapping[str, Any], asked: SweepScope, library: Library
) -> Iterator[tuple[int, int | None]]:
    """Where the rows of a flight are cut; of one that is no case, which its part tells, nowhere."""
    try:
        count = count_of_rows(body, asked, library=library)
    except Exception:
        yield 0, None
        return
    for start in range(0, count, ROWS_OF_FEW):
        yield start, min(count, start + ROWS_OF_FEW)


def decide_part(
    part: SweepPart,
    *,
    seconds: float = math.inf,
    library: Library | None = None,
) -> SweptPart:
    """The rows of a part. Whatever is wrong with its flight is told; the others must go on.

    `seconds`: of processor time that a decision may take. `library`: of this process; another one
    reads the aerodromes that the part names.
    """
    body, asked = msgspec.json.decode(part.body), msgspec.json.decode(part.asked, type=SweepScope)
    try:
        _require_case(body)
        rows = list(
            rows_of_flight(
                part.flight,
                body,
                asked,
                library=kept_library(part.loaded) if library is None else library,
                only=slice(part.start, part.stop),
                work=lambda: Work(limit_of(seconds)),
            )
        )
    except Exception as error:
        return SweptPart(lines=b"", count=0, refused=refused_by(error))
    lines = b"".join(shown(msgspec.json.encode(each) + b"\n") for each in rows)
    return SweptPart(lines=lines, count=len(rows))


def _require_case(body: object) -> None:
    """Raises: InvalidCase for what cannot be one, or would have to be fetched for."""
    if not isinstance(body, dict):
        raise InvalidCase((NO_CASE,))
    weather = body.get("weather")
    if isinstance(weather, dict) and weather.get("fetch") is True:
        raise InvalidCase((NO_FETCHING,))


NO_CASE: Final = Fault(
    pointer="", code="type", message="is no object", accepted="a case, as it is decided by itself"
)
