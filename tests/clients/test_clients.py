"""Clients that two general-purpose generators make of the API document decide a real case.

One generator is from PyPI and makes Python, one from npm and makes TypeScript; what they need is
pinned beside this file. Both ask an index, so this is the long tier. `decide.py` and `decide.ts`
are what a caller would write.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import venv
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.app import create_app
from service.page.scripts import FOLDER as SCRIPTS
from service.resources.operation import API_DOCUMENT
from tests.case.builders import CASES
from tests.counts import long_tier
from tests.service.builders import listening, service_settings

FOLDER = Path(__file__).parent
CASE = CASES / "gear-stuck.json"
DECIDED = {"verdict": "NO_GO", "aerodrome": "XTOR", "same": True, "refused": "/aircraft/mass_kg"}
# A line of JSON each, and drawings: what the Python generator has no type for.
NOT_MADE = ["/v1/decisions/batch", "/docs/figures/{name}", "/icon.svg"]
AS_A_BROWSER = (
    *("--noEmit", "--allowJs", "--checkJs", "--strict", "--typeRoots", "none"),
    *("--target", "es2022", "--module", "esnext", "--moduleResolution", "bundler"),
    *("--lib", "es2023,dom,dom.iterable"),
)

pytestmark = [long_tier, pytest.mark.timeout(1800)]


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    app = create_app(service_settings(tmp_path_factory.mktemp("store"), APPROACH_LOG_LEVEL="ERROR"))
    with listening(app) as at:
        yield at


def output_of(*command: str | Path, folder: Path) -> str:
    """What a command prints; it must end well."""
    found = f"{Path(command[0]).parent}{os.pathsep}{os.environ['PATH']}"
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        command,
        cwd=folder,
        env=environment | {"PATH": found},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr


def test_a_generated_python_client_decides_reads_again_and_is_refused(
    address: str, tmp_path: Path
) -> None:
    venv.create(tmp_path / "environment", with_pip=False, symlinks=True)
    programs = tmp_path / "environment" / "bin"
    output_of(
        *(sys.executable, "-m", "pip", "--python", programs / "python", "install", "--quiet"),
        *("--no-deps", "--require-hashes", "-r", FOLDER / "requirements.txt"),
        folder=tmp_path,
    )
    told = output_of(
        *(programs / "openapi-python-client", "generate", "--path", API_DOCUMENT),
        *("--meta", "none", "--output-path", "approach_client"),
        folder=tmp_path,
    )
    warned = [line for line in told.splitlines() if line.startswith("WARNING parsing ")]
    assert len(warned) == len(NOT_MADE)
    assert all(f" {path} " in line for path, line in zip(NOT_MADE, warned, strict=True))
    output_of(programs / "python", "-m", "compileall", "-q", "approach_client", folder=tmp_path)
    shutil.copy(FOLDER / "decide.py", tmp_path)
    said = output_of(programs / "python", "decide.py", address, CASE, folder=tmp_path)
    assert json.loads(said) == DECIDED


def test_a_generated_typescript_client_compiles_decides_reads_again_and_is_refused(
    address: str, tmp_path: Path
) -> None:
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed")
    for name in ("package.json", "package-lock.json", "tsconfig.json", "decide.ts"):
        shutil.copy(FOLDER / name, tmp_path)
    output_of(npm, "ci", "--no-audit", "--no-fund", folder=tmp_path)
    programs = tmp_path / "node_modules" / ".bin"
    output_of(programs / "openapi-typescript", API_DOCUMENT, "-o", "api.d.ts", folder=tmp_path)
    output_of(programs / "tsc", "-p", ".", folder=tmp_path)
    said = output_of("node", "made/decide.js", address, CASE, folder=tmp_path)
    assert json.loads(said) == DECIDED


def test_the_scripts_of_the_pages_keep_the_types_that_they_declare(tmp_path: Path) -> None:
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed")
    for name in ("package.json", "package-lock.json"):
        shutil.copy(FOLDER / name, tmp_path)
    output_of(npm, "ci", "--no-audit", "--no-fund", folder=tmp_path)
    scripts = sorted(SCRIPTS.glob("*.js"))
    assert scripts
    output_of(tmp_path / "node_modules" / ".bin" / "tsc", *AS_A_BROWSER, *scripts, folder=tmp_path)
