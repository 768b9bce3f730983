"""Reading profiles: the demo aircraft comes out whole, everything wrong with a file is named."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from decision.citations import source
from decision.errors import DataError, OutOfRange
from decision.profile import load, load_profile, profile_ids
from decision.profile.load import PROFILES, read_profile
from tests.physics.builders import xtj150

FILE = PROFILES / "xtj150.toml"


def changed(tmp_path: Path, *replacements: tuple[str, str]) -> Path:
    """The demo file, beside its systems file, with some text replaced."""
    text = FILE.read_text()
    for old, new in replacements:
        assert old in text
        text = text.replace(old, new, 1)
    systems = FILE.with_name("xtj150.systems.toml")
    (tmp_path / systems.name).write_bytes(systems.read_bytes())
    path = tmp_path / FILE.name
    path.write_text(text)
    return path


def faults(path: Path) -> dict[str, str]:
    reading = read_profile(path)
    assert reading.profile is None
    return {fault.key: fault.problem for fault in reading.faults}


def test_the_demo_profile_is_known_and_loads_once() -> None:
    assert "xtj150" in profile_ids()
    assert load_profile("xtj150") is load_profile("xtj150")


def test_the_demo_profile_has_the_stated_masses_and_limits() -> None:
    profile = xtj150()
    masses = profile.masses
    assert (masses.oew_kg, masses.mzfw_kg, masses.mlw_kg) == (42_500.0, 61_500.0, 66_000.0)
    assert (masses.mtow_kg, masses.max_fuel_kg) == (76_000.0, 18_500.0)
    assert profile.wing.aspect_ratio == pytest.approx(9.58, abs=0.005)
    assert (profile.limits.vle_kt, profile.limits.mle) == (265.0, 0.62)
    assert [detent.id for detent in profile.detents] == ["0", "6", "12", "20", "34"]
    assert profile.full_flap_deg == 34.0


@pytest.mark.parametrize(
    ("flap", "slats_out", "clmax"),
    [
        ("0", False, 1.40),
        ("0", True, 1.85),
        ("6", True, 1.95),
        ("12", True, 2.20),
        ("20", True, 2.45),
        ("20", False, 2.00),
        ("34", True, 2.75),
        ("34", False, 2.30),
    ],
)
def test_slats_and_flaps_lift_apart(flap: str, slats_out: bool, clmax: float) -> None:
    assert xtj150().clmax(flap=flap, slats_out=slats_out) == pytest.approx(clmax)


def test_the_lever_moves_the_slats_from_its_first_detent_on() -> None:
    out = [flap for flap in ("0", "6", "12", "20", "34") if xtj150().slats_out_with_lever(flap)]
    assert out == ["6", "12", "20", "34"]


def test_crosswind_limits_fall_with_the_condition_code() -> None:
    limits = [xtj150().wind.crosswind_limit_kt(code) for code in range(6, 0, -1)]
    assert limits == sorted(limits, reverse=True)
    with pytest.raises(OutOfRange, match="condition_code"):
        xtj150().wind.crosswind_limit_kt(0)


def test_an_unknown_profile_is_named_with_the_known_ones() -> None:
    with pytest.raises(DataError, match=r"xtj999\.toml: id: no such profile; known: .*xtj150"):
        load_profile("xtj999")


def test_loading_a_faulty_profile_raises_its_first_fault(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed(tmp_path, ("value = 42500", "value = 425"))
    monkeypatch.setattr(load, "PROFILES", tmp_path)
    with pytest.raises(DataError, match=r"xtj150\.toml: masses\.oew_kg: is 425"):
        load.load_profile.__wrapped__("xtj150")


def test_every_value_has_a_source_of_the_bibliography() -> None:
    def sources(table: Any) -> list[str]:
        if isinstance(table, list):
            return [key for row in table for key in sources(row)]
        own = [table["source"]] if "source" in table else []
        inner = [value for value in table.values() if isinstance(value, dict | list)]
        return own + [key for value in inner for key in sources(value)]

    keys = sources(tomllib.loads(FILE.read_text()))
    assert len(keys) > 90
    assert all(source(key).title for key in keys)


def test_a_copy_reads_the_same_and_its_digest_follows_its_bytes(tmp_path: Path) -> None:
    same = read_profile(changed(tmp_path)).profile
    assert same is not None
    assert same.digest == xtj150().digest
    other = read_profile(changed(tmp_path, ("# Invented", "# An invented"))).profile
    assert other is not None
    assert other.digest != same.digest


ONE_FAULT = [
    ("value = 42500", "value = 425", "masses.oew_kg", "is 425; must be 1000 to 650000 kg"),
    ('unit = "kg"', 'unit = "lb"', "masses.oew_kg.unit", "is 'lb'; must be 'kg'"),
    (
        'source = "ASSUMED"',
        'source = "HEARSAY"',
        "masses.oew_kg.source",
        "'HEARSAY' is not in the bibliography",
    ),
    ("oew_kg =", "empty_kg =", "masses.empty_kg", "unknown key"),
    ("oew_kg =", "empty_kg =", "masses.oew_kg", "missing"),
    ("value = 42500", 'value = "heavy"', "masses.oew_kg", "must be of type float"),
    ("value = 42500, ", "", "masses.oew_kg.value", "missing"),
    ("count = { value = 2,", "count = { value = 2.5,", "engine.count", "must be of type int"),
    ("value = true", 'value = "yes"', "wind.gust_included", "must be of type bool"),
    ('value = "full"', 'value = "mostly"', "tyres.anti_skid", "must be one of full, quasi"),
    ("oew_kg = {", "oew_kg = 1 # {", "masses.oew_kg", "must be a table"),
    ("vfe_kt = 195", "vfe_kt = 1950", "detents[3].vfe_kt", "must be 30 to 450 kt"),
    ("clmax = 1.75", "clmx = 1.75", "detents[2].clmx", "unknown key"),
    ("clmax = 1.75", "clmx = 1.75", "detents[2].clmax", "missing"),
    ('version = "1.0.0"', "version = 1", "profile.version", "must be text"),
    ('version = "1.0.0"', "", "profile.version", "missing"),
    ("[reverse]", "[backwards]", "backwards", "unknown key"),
    ("[reverse]", "[backwards]", "reverse", "missing"),
    ("value = 61500", "value = 41500", "masses", "oew_kg < mzfw_kg <= mlw_kg <= mtow_kg"),
    ('id = "6"', 'id = "0"', "detents", "ids must be unique"),
    ("deflection_deg = 12.0", "deflection_deg = 25.0", "detents", "deflections must increase"),
    (
        'landing_detent = { value = "34"',
        'landing_detent = { value = "40"',
        "approach",
        "names the flap detent '40'",
    ),
    ("condition_code = 1", "condition_code = 2", "wind.crosswind", "each condition code 1 to 6"),
    ("deflection_deg = 0.0", "deflection_deg = 1.0", "detents[0].deflection_deg", "must be 0"),
    ("count = { value = 2,", "count = { value = 3,", "engine.count", "engine-1, engine-2"),
    ('state = "flaps_out"', 'state = "clean"', "ordinary", "one row for each of clean, gear_down"),
    ('of = "dry_landing"', 'of = "clean_fuel"', "accuracy", "one row for each of clean_fuel"),
]


@pytest.mark.parametrize(("old", "new", "key", "problem"), ONE_FAULT)
def test_a_fault_names_its_key_and_what_would_be_right(
    tmp_path: Path, old: str, new: str, key: str, problem: str
) -> None:
    assert problem in faults(changed(tmp_path, (old, new)))[key]


def test_all_faults_of_a_file_come_at_once(tmp_path: Path) -> None:
    found = faults(
        changed(
            tmp_path,
            ("value = 42500", "value = 425"),
            ("value = 0.0205", "value = 2.05"),
            ("[reverse]", "[backwards]"),
        )
    )
    assert {"masses.oew_kg", "polar.cd0", "backwards", "reverse"} <= set(found)


def test_rows_must_be_rows(tmp_path: Path) -> None:
    text = FILE.read_text()
    cut = text[: text.index("[[detents]]")]
    path = tmp_path / FILE.name
    for wrong in ("detents = 5\n", "detents = []\n"):
        path.write_text(wrong + cut)
        assert "array of tables" in faults(path)["detents"]
    path.write_text("detents = [5]\n" + cut)
    assert faults(path)["detents[0]"] == "must be a table"


@pytest.mark.parametrize("content", [b"masses = {", b"\xff\xfe"])
def test_a_file_that_is_not_toml_says_so(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / FILE.name
    path.write_bytes(content)
    assert set(faults(path)) == {"file"}
