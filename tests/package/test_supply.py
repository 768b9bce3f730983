"""What the product is made of: licences that match the pins, and what an audit says of it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.audit import main, told
from tests.licences import LISTS, licence_of, pins, rows_of

GPL = re.compile(r"GPL|GNU", re.IGNORECASE)
# The driver of PostgreSQL is used as it is installed, an extra, and never changed or linked.
GPL_OF_THE_SERVICE = {"psycopg", "psycopg-binary"}
KNOWN = re.compile(
    r"MIT|BSD|Apache|MPL|Mozilla|PSF|Python Software|ISC|Zlib|Unlicense|CC0|GPL", re.IGNORECASE
)
SERVICE, TESTS = LISTS


@pytest.mark.parametrize("listed", LISTS, ids=lambda path: path.parent.name)
def test_a_list_of_licences_has_each_pin_in_its_version(listed: Path) -> None:
    wanted = pins(LISTS[listed])
    if listed == TESTS:
        wanted = {name: at for name, at in wanted.items() if name not in rows_of(SERVICE)}
    found = {name: version for name, (version, _) in rows_of(listed).items()}
    assert found == wanted, "run: python -m tests.licences"


@pytest.mark.parametrize("listed", LISTS, ids=lambda path: path.parent.name)
def test_a_list_tells_what_the_installed_packages_say(listed: Path) -> None:
    installed = {name: licence_of(name) for name in rows_of(listed)}
    differ = {
        name: said
        for name, said in installed.items()
        if said is not None and said != rows_of(listed)[name][1]
    }
    assert len([said for said in installed.values() if said]) > 20
    assert differ == {}, "run: python -m tests.licences"


def test_every_licence_is_known_and_only_the_named_packages_are_under_the_gpl() -> None:
    for listed in LISTS:
        rows = rows_of(listed)
        assert {name for name, (_, said) in rows.items() if not KNOWN.search(said)} == set()
    gpl = {name for name, (_, said) in rows_of(SERVICE).items() if GPL.search(said)}
    assert gpl == GPL_OF_THE_SERVICE


def test_a_known_fault_fails_the_audit_and_what_was_not_asked_is_said() -> None:
    faulty = {
        "name": "flask",
        "version": "3.1.3",
        "vulns": [{"id": "PYSEC-0", "fix_versions": ["3.1.4"]}],
    }
    fine = {"name": "click", "version": "8", "vulns": []}
    left_out = {"name": "numpy", "skip_reason": "not found"}
    lines, code = told(json.dumps({"dependencies": [faulty, fine, left_out]}))
    assert code == 1
    assert lines[0] == "Audit: flask 3.1.3: PYSEC-0, mended in 3.1.4"
    assert "2 of 3 libraries" in lines[1]
    lines, code = told(json.dumps({"dependencies": [fine]}))
    assert (lines, code) == (["Audit: 1 of 1 libraries were asked about; 0 known faults."], 0)


@pytest.mark.parametrize("output", ["", "connection refused", "[]", "{}"])
def test_where_nobody_can_be_asked_that_is_said(output: str) -> None:
    lines, code = told(output)
    assert code == 0
    assert "were not audited" in lines[0]


def test_an_audit_that_is_not_there_is_no_failure(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["/nowhere/pip-audit"]) == 0
    assert "were not audited" in capsys.readouterr().out
