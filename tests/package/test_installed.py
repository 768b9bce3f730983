"""The package installed into an environment of its own: both commands work away from the checkout.

The quick tier builds the wheel with the tools that are here and borrows the installed libraries, so
that it asks no index. The long tier is the user's own way: `pip install` of the checkout, with all
that it needs from the index that pip is set up for.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import site
import subprocess
import sys
import venv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.request import Request, urlopen

import pytest

from decision.options import EXIT_BAD_INPUT
from service.alive import wait_until_ready
from tests.case.builders import CASES
from tests.counts import long_tier
from tests.faults.running import free_port
from tests.service.test_process import START_S

ROOT = Path(__file__).parents[2]
SOURCES = ("decision", "service", "openapi")
GEAR_STUCK = (CASES / "gear-stuck.json").read_bytes()
WAYS = [
    "libraries borrowed",
    pytest.param(
        "libraries installed",
        marks=long_tier,
    ),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Installed:
    """An environment that has the package, and an empty folder to work in."""

    environment: Path
    folder: Path

    @property
    def packages(self) -> Path:
        (found,) = self.environment.glob("lib/python*/site-packages")
        return found

    def command(self, name: str, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [self.environment / "bin" / name, *arguments],
            cwd=self.folder,
            env=outside(),
            capture_output=True,
            text=True,
            check=False,
        )


def outside(**settings: str) -> dict[str, str]:
    """The environment of the tests without what would find the checkout."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONPATH"} | settings


def copy_of_sources(folder: Path) -> Path:
    """What an installation is made from, so that nothing is built in the checkout itself."""
    for name in SOURCES:
        shutil.copytree(
            ROOT / name, folder / name, symlinks=True, ignore=shutil.ignore_patterns("__pycache__")
        )
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, folder)
    return folder


def pip(*arguments: str | Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pip", "--disable-pip-version-check", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def borrow_libraries(environment: Path) -> None:
    """Let an environment see what is installed for the tests, behind what it has itself."""
    (packages,) = environment.glob("lib/python*/site-packages")
    (packages / "borrowed.pth").write_text("\n".join(site.getsitepackages()), encoding="utf-8")


@pytest.fixture(scope="module", params=WAYS)
def installed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Installed:
    sources = copy_of_sources(tmp_path_factory.mktemp("sources"))
    environment = tmp_path_factory.mktemp("environment")
    venv.create(environment, with_pip=False, symlinks=True)
    into = ("--python", environment / "bin" / "python", "install", "--quiet")
    if request.param == "libraries borrowed":
        borrow_libraries(environment)
        pip(*into, "--no-deps", "--no-index", "--no-build-isolation", sources)
    else:
        pip(*into, sources)
    return Installed(environment=environment, folder=tmp_path_factory.mktemp("elsewhere"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """The installed service as it runs."""

    address: str
    process: subprocess.Popen[bytes]

    def got(self, path: str) -> bytes:
        with urlopen(self.address + path, timeout=START_S) as answer:
            body: bytes = answer.read()
        return body

    def decided(self) -> dict[str, Any]:
        headers = {"Content-Type": "application/json"}
        request = Request(f"{self.address}/v1/decisions", GEAR_STUCK, headers)
        with urlopen(request, timeout=START_S) as answer:
            made: dict[str, Any] = json.load(answer)
        return made


@pytest.fixture
def served(installed: Installed) -> Iterator[Served]:
    port = str(free_port())
    environment = outside(APPROACH_PORT=port, APPROACH_WORKERS="1", APPROACH_BATCH_PROCESSES="1")
    process = subprocess.Popen(
        [installed.environment / "bin" / "approach-service"],
        cwd=installed.folder,
        env=environment,
        stdout=subprocess.DEVNULL,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        assert wait_until_ready(address, seconds=START_S, alive=lambda: process.poll() is None)
        yield Served(address=address, process=process)
    finally:
        process.terminate()
        process.wait(START_S)


def files_of(folder: Path) -> set[Path]:
    return {path for path in folder.rglob("*") if "__pycache__" not in path.parts}


def test_the_package_comes_from_the_environment_and_not_from_the_checkout(
    installed: Installed,
) -> None:
    where = installed.command("python", "-c", "import decision, service; print(decision.__file__)")
    assert where.stdout.strip() == str(installed.packages / "decision" / "__init__.py")


def test_a_case_is_decided_by_the_installed_command(installed: Installed) -> None:
    (installed.folder / "case.json").write_bytes(GEAR_STUCK)
    done = installed.command("approach-decision", "case.json")
    assert (done.returncode, done.stderr) == (20, "")
    assert "ACTION     DIVERT XTOR" in done.stdout


@pytest.mark.parametrize(
    "name",
    ["approach-decision", "approach-service", "approach-ask", "approach-sweep", "approach-replay"],
)
def test_an_installed_command_says_how_it_is_called(installed: Installed, name: str) -> None:
    helped = installed.command(name, "--help")
    assert (helped.returncode, helped.stderr) == (0, "")
    assert helped.stdout.startswith(f"usage: {name} ")
    wrong = installed.command(name, "--colour=red")
    assert (wrong.returncode, wrong.stdout) == (EXIT_BAD_INPUT, "")
    assert wrong.stderr.startswith(f"usage: {name} ")


def test_the_installed_service_decides_documents_itself_and_records_where_it_was_started(
    installed: Installed, served: Served
) -> None:
    before = files_of(installed.packages)
    made = served.decided()
    assert made["verdict"] == "NO_GO"
    assert json.loads(served.got(f"/v1/decisions/{made['id']}")) == made
    assert served.got("/openapi.json") == (ROOT / "openapi" / "openapi.json").read_bytes()
    assert b"</html>" in served.got("/docs")
    assert (installed.folder / "var" / "decisions.sqlite3").is_file()
    assert files_of(installed.packages) == before
    served.process.send_signal(signal.SIGTERM)
    assert served.process.wait(START_S) == 0


def test_an_installation_has_the_data_of_the_checkout_and_nothing_else_beside_it(
    installed: Installed,
) -> None:
    for package in ("decision", "service"):
        kept = {path.relative_to(ROOT) for path in files_of(ROOT / package) if path.is_file()}
        there = {
            path.relative_to(installed.packages)
            for path in files_of(installed.packages / package)
            if path.is_file()
        }
        tools = {path for path in kept if path.suffix in {".sh", ".txt"}}
        assert there == kept - tools
