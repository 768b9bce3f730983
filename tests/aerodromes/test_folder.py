"""Aerodromes of an operator's folder, read at the start, by file or from their index."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from statistics import median

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from decision.case import installed_library
from decision.case.library import AERODROMES, digest_of_files, files_in
from decision.errors import DataError
from decision.quantities import Position
from service.aerodromes.__main__ import main
from service.aerodromes.folder import Loaded, library_as, library_from
from service.aerodromes.index import INDEX, opened_index, write_index
from tests.case.loaded import DIGEST, library, names, place

SEARCHED_MS = 5.0  # that a search among ten thousand may take


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the files of the installation."""
    return Path(shutil.copytree(AERODROMES, tmp_path / "places"))


def compiled(folder: Path) -> Path:
    assert main(["compile", str(folder)]) == 0
    return folder / INDEX


def problem(folder: Path) -> str:
    with pytest.raises(DataError) as caught:
        library_from(folder)
    return str(caught.value)


def test_without_a_folder_the_installed_ones_are_read() -> None:
    assert library_from(None) is installed_library()
    assert library_as(None) is installed_library()


@pytest.mark.parametrize("is_compiled", [False, True], ids=["files", "index"])
def test_a_folder_holds_what_its_files_say(folder: Path, is_compiled: bool) -> None:
    if is_compiled:
        compiled(folder)
    read, installed = library_from(folder), installed_library()
    assert dict(read.aerodromes) == dict(installed.aerodromes)
    assert read.gazette == installed.gazette
    assert not read.installed
    centre = Position(latitude_deg=47.0, longitude_deg=-35.0)
    for radius_nm in (50.0, 500.0, 3000.0):
        assert read.atlas.within(centre, radius_nm, most=9) == installed.atlas.within(
            centre, radius_nm, most=9
        )


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("XKAL.toml", "lda_m = 3000|lda_m = 30", "XKAL.toml: /runways/0/lda_m: 30 is not accepted"),
        ("XKAL.toml", 'icao = "XKAL"|icao = "XTOR"', "XTOR.toml: icao: XTOR is in another file"),
        ("XKAL.toml", 'icao = "XKAL"|icao = ', "XKAL.toml: TOML: Invalid value"),
        ("XKAL.toml", 'source = "invented"|', "XKAL.toml: source: is required"),
    ],
)
def test_a_wrong_file_is_named_with_its_key_and_its_problem(
    folder: Path, name: str, text: str, told: str
) -> None:
    file = folder / name
    old, new = text.split("|")
    file.write_text(file.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    assert told in problem(folder)
    assert main(["compile", str(folder)]) == 2


def test_a_folder_that_is_none_or_empty_is_told(tmp_path: Path) -> None:
    assert "APPROACH_AERODROMES: is no folder" in problem(tmp_path / "none")
    assert "has no aerodrome files" in problem(tmp_path)


# --- the index ---


@pytest.mark.parametrize("change", ["changed", "added", "removed", "renamed"])
def test_an_index_that_is_not_of_the_files_beside_it_ends_the_start(
    folder: Path, change: str
) -> None:
    compiled(folder)
    file = folder / "XKAL.toml"
    text = file.read_text(encoding="utf-8")
    if change == "changed":
        file.write_text(text.replace("lda_m = 3000", "lda_m = 2999"), encoding="utf-8")
    elif change == "added":
        (folder / "XNEW.toml").write_text(text.replace("XKAL", "XNEW"), encoding="utf-8")
    elif change == "removed":
        file.unlink()
    else:
        file.rename(folder / "XKAM.toml")
    assert "a file has changed since" in problem(folder)
    assert "python -m service.aerodromes compile" in problem(folder)
    compiled(folder)
    assert library_from(folder).gazette.digest == digest_of_files(files_in(folder))


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_an_index_with_a_damaged_byte_is_not_read(folder: Path, data: st.DataObject) -> None:
    whole = bytearray(compiled(folder).read_bytes())
    at = data.draw(st.integers(0, len(whole) - 1))
    whole[at] ^= data.draw(st.integers(1, 255))
    (folder / INDEX).write_bytes(whole)
    assert "the file is damaged" in problem(folder)
    (folder / INDEX).unlink()


@pytest.mark.parametrize("left", [0, 1, 31, 200])
def test_an_index_that_was_cut_off_is_not_read(folder: Path, left: int) -> None:
    file = compiled(folder)
    file.write_bytes(file.read_bytes()[:left])
    assert INDEX in problem(folder)


def test_an_index_of_another_version_is_not_read(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    compiled(folder)
    monkeypatch.setattr("service.aerodromes.index.SHAPE", "of another version")
    assert "another version has made it" in problem(folder)


def test_a_process_begun_after_a_change_does_not_decide_on_other_data(folder: Path) -> None:
    loaded = Loaded(folder, library_from(folder).gazette.digest)
    assert library_as(loaded).gazette.digest == loaded.digest
    (folder / "XKAL.toml").unlink()
    with pytest.raises(DataError, match="has changed since the service started"):
        library_as(loaded)


def test_ten_thousand_are_searched_in_time_and_found_by_name(tmp_path: Path) -> None:
    draw = np.random.default_rng(11)
    at = zip(draw.uniform(-90, 90, 10_000), draw.uniform(-180, 180, 10_000), strict=True)
    places = [
        place(icao, float(latitude), float(longitude))
        for icao, (latitude, longitude) in zip(names(10_000), at, strict=True)
    ]
    write_index(tmp_path, places, digest=DIGEST, atlas=library(places).atlas)
    read = opened_index(tmp_path, digest=DIGEST)
    assert len(read.aerodromes) == len(read.atlas) == 10_000
    for each in places[::997]:
        assert read.aerodromes[each.icao] == each
    taken_ms = []
    for _ in range(50):
        centre = Position(
            latitude_deg=float(draw.uniform(-90, 90)), longitude_deg=float(draw.uniform(-180, 180))
        )
        begun = time.process_time()
        assert read.atlas.within(centre, 2000.0, most=100).places
        taken_ms.append(1000.0 * (time.process_time() - begun))
    assert median(taken_ms) <= SEARCHED_MS


def test_compiling_tells_which_can_never_be_proposed(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = folder / "XMON.toml"
    lines = file.read_text(encoding="utf-8").splitlines()
    kept = [each for each in lines if "position" not in each and "tude_deg" not in each]
    file.write_text("\n".join(kept), encoding="utf-8")
    compiled(folder)
    told = capsys.readouterr().out
    assert "5 aerodromes, digest " in told
    assert "1 without a position: they are never proposed" in told
