"""A sweep in parts: the same rows wherever they are worked on, and each of them once."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from decision.case.library import AERODROMES
from decision.sweep import SweepScope
from decision.systems import Failure
from service.aerodromes.folder import kept_library, library_from, loaded_of
from service.many import Crew
from service.sweeps.engines import in_processes, in_this_process
from service.sweeps.flights import FlightsSwept, lines_of
from service.sweeps.folder import ROWS, SUMMARY, SweepFolder
from service.sweeps.part import SweepPart, SweptPart, decide_part, parts_of
from tests.sweep.flights import FEW, evening, flight

ASKED = SweepScope(failures=tuple(Failure(id=each) for each in FEW), from_minute=True)


def everything(parts: list[SweepPart]) -> bytes:
    return b"".join(done.lines for _, done in in_this_process(parts))


def test_rows_in_processes_are_those_of_one_process() -> None:
    parts = list(parts_of(evening(3), ASKED))
    crew = Crew(processes=2, log_level="ERROR")
    try:
        assert b"".join(done.lines for _, done in in_processes(parts, crew=crew)) == everything(
            parts
        )
    finally:
        crew.close()


def test_a_flight_that_is_cut_into_parts_has_the_rows_of_one_that_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = list(parts_of(evening(2), ASKED))
    assert [(part.start, part.stop) for part in whole] == [(0, len(FEW))] * 2
    monkeypatch.setattr("service.sweeps.part.ROWS_OF_FEW", 2)
    cut = list(parts_of(evening(2), ASKED))
    assert len(cut) == 6
    assert everything(cut) == everything(whole)


def test_a_flight_that_is_no_case_is_refused_and_the_others_go_on() -> None:
    parts = list(parts_of([{"flight_id": "GANNET 9"}, flight()], ASKED))
    first, second = (done for _, done in in_this_process(parts))
    assert first.refused is not None
    assert first.refused.slug == "invalid-request"
    assert {fault.pointer for fault in first.refused.faults} >= {"/aircraft", "/fuel"}
    assert second.count == len(FEW)


def test_nothing_is_fetched_for_a_sweep() -> None:
    body = flight()
    body["weather"] = {**body["weather"], "fetch": True}
    [part] = parts_of([body], ASKED)
    refused = decide_part(part).refused
    assert refused is not None
    assert [fault.pointer for fault in refused.faults] == ["/weather/fetch"]


def test_a_part_names_the_aerodromes_that_it_is_decided_with(tmp_path: Path) -> None:
    here, there = (tmp_path / each for each in ("here", "there"))
    for folder in (here, there):
        shutil.copytree(AERODROMES, folder)
    library = library_from(here)
    with_folder, moved, installed = (
        next(parts_of([flight()], ASKED, library=library, loaded=loaded))
        for loaded in (loaded_of(here, library), loaded_of(there, library), None)
    )
    assert with_folder.digest == moved.digest != installed.digest
    assert decide_part(moved).lines == decide_part(installed).lines != b""
    changed = there / "XTOR.toml"
    changed.write_text(changed.read_text().replace("lda_m = ", "lda_m = 1", 1))
    kept_library.cache_clear()
    refused = decide_part(moved).refused
    assert refused is not None


# --- in a folder ---


def filled(path: Path, parts: list[SweepPart]) -> SweepFolder:
    folder = SweepFolder(path)
    for part, done in in_this_process(parts):
        folder.keep(part, done)
    return folder


def test_a_folder_has_every_row_once_in_order_and_the_summaries(tmp_path: Path) -> None:
    parts = list(parts_of(evening(2), ASKED))
    filled(tmp_path, list(reversed(parts))).close(parts)
    assert (tmp_path / ROWS).read_bytes() == everything(parts)
    flights = FlightsSwept()
    for part, done in in_this_process(parts):
        flights.take(part, done)
    assert (tmp_path / SUMMARY).read_bytes() == b"".join(lines_of(flights.summaries()))


@pytest.mark.parametrize("harm", ["cut off", "another row", "another sweep", "another engine"])
def test_a_part_that_is_not_whole_or_not_of_this_sweep_is_done_again(
    tmp_path: Path, harm: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    [part] = parts_of([flight()], ASKED)
    folder = filled(tmp_path, [part])
    assert folder.kept(part) is not None
    file = next((tmp_path / "parts").iterdir())
    match harm:
        case "cut off":
            file.write_bytes(file.read_bytes()[:-40])
        case "another row":
            file.write_bytes(file.read_bytes().replace(b"hydraulic-1", b"hydraulic-2", 1))
        case "another engine":
            monkeypatch.setattr("service.sweeps.folder.ENGINE_VERSION", "other")
        case _:
            [part] = parts_of([flight(more_kg=901.0)], ASKED)
    assert folder.kept(part) is None
    with pytest.raises(FileNotFoundError):
        folder.close([part])


def test_a_part_that_cannot_be_written_leaves_nothing_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    [part] = parts_of([flight()], ASKED)
    folder = SweepFolder(tmp_path)

    def full(_descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        folder.keep(part, SweptPart(lines=b"{}\n", count=1))
    assert list((tmp_path / "parts").iterdir()) == []


def test_summaries_begin_with_the_flight_that_is_without_a_diversion_soonest() -> None:
    flights = FlightsSwept()
    near, far = flight(1, more_kg=0.0, track_nm=220.0), flight(2, more_kg=3000.0)
    asked = SweepScope(failures=(Failure(id="engine-1"),), from_minute=True)
    for part, done in in_this_process(parts_of([far, near], asked)):
        flights.take(part, done)
    first, second = flights.summaries()
    assert (first.flight, second.flight) == (1, 0)
    assert first.first_minute is not None
