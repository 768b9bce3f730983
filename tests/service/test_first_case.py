"""The page that writes a case from nothing: its commands are run as they stand, in one shell.

A real server listens where the page says it does; the port is the one thing that is changed. What
the page shows under a command is compared with what came back.
"""

from __future__ import annotations

import doctest
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.app import create_app
from service.documents import FOLDER
from tests.service.builders import listening, service_settings

PAGE = (FOLDER / "first-case.md").read_text(encoding="utf-8")
STEPS = re.findall(r"```sh\n(.*?)```\n\n```text\n(.*?)```", PAGE, re.DOTALL)
LISTENS = "http://127.0.0.1:8080"


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    app = create_app(service_settings(tmp_path_factory.mktemp("store"), APPROACH_LOG_LEVEL="ERROR"))
    with listening(app) as at:
        yield at


def shown(wanted: str, got: str) -> bool:
    """Whether output is what the page shows, whose `...` stand for anything."""
    return doctest.OutputChecker().check_output(
        wanted, got, doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    )


def test_every_command_of_the_page_has_what_comes_back_below_it() -> None:
    assert len(STEPS) == PAGE.count("```sh\n") == PAGE.count("```text\n")
    assert sum(command.count("curl -sS ") for command, _ in STEPS) == PAGE.count("curl -sS ")
    assert all(LISTENS in command for command, _ in STEPS)


def test_the_page_leads_from_nothing_to_an_answer(address: str, tmp_path: Path) -> None:
    assert STEPS
    for command, wanted in STEPS:
        done = subprocess.run(
            ["sh", "-euc", command.replace(LISTENS, address)],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.stderr == ""
        assert shown(wanted, done.stdout), f"{command}\n{done.stdout}"


@pytest.mark.parametrize(("got", "same"), [("a 1\nz\n", True), ("a 1\nb\n", False), ("", False)])
def test_only_what_is_left_out_may_differ(got: str, *, same: bool) -> None:
    assert shown("a ...\nz\n", got) is same
