"""The container files are linted here; nothing builds or runs them."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
import yaml

from service.settings import ROOT, SETTINGS

DOCKERFILE = ROOT / "docker" / "Dockerfile"
COMPOSE = ROOT / "docker" / "compose.yaml"
KUBERNETES = ROOT / "docker" / "kubernetes.yaml"
YAML_RULES = "{extends: default, rules: {document-start: disable, line-length: {max: 100}}}"


def linter(name: str) -> str:
    found = shutil.which(name) or shutil.which(name, path=str(ROOT / ".venv" / "bin"))
    if found is None:
        pytest.skip(f"{name} is not installed (it comes for Linux on x86-64)")
    return found


def output_of(*command: str | Path) -> str:
    return subprocess.run(command, capture_output=True, text=True, check=False).stdout


def test_hadolint_has_nothing_against_the_dockerfile() -> None:
    assert output_of(linter("hadolint"), DOCKERFILE) == ""


def test_yamllint_has_nothing_against_the_compose_file() -> None:
    assert output_of(linter("yamllint"), "-s", "-d", YAML_RULES, COMPOSE) == ""


def test_the_image_is_not_run_as_root_and_checks_its_health() -> None:
    final = DOCKERFILE.read_text().rsplit("\nFROM ", 1)[1]
    assert re.search(r"^USER 10001", final, re.MULTILINE)
    assert "HEALTHCHECK" in final
    assert final.index("USER ") < final.index("CMD ")


def test_what_is_copied_into_the_image_exists_and_is_not_ignored() -> None:
    kept = {line[1:] for line in (ROOT / ".dockerignore").read_text().split() if line[0] == "!"}
    copied = re.findall(r"^COPY (?!--from)(\S+) ", DOCKERFILE.read_text(), re.MULTILINE)
    assert copied
    for source in copied:
        assert (ROOT / source).exists()
        assert source.split("/")[0] in kept


def test_the_service_is_locked_down_and_published_on_loopback_only() -> None:
    compose = yaml.safe_load(COMPOSE.read_text())
    service = compose["services"]["service"]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert all(str(port).startswith("127.0.0.1:") for port in service["ports"])
    assert compose["services"]["postgresql"]["profiles"] == ["postgresql"]


def test_the_container_starts_with_a_key_from_a_file_that_is_not_in_the_image() -> None:
    compose = yaml.safe_load(COMPOSE.read_text())
    service = compose["services"]["service"]
    named = service["environment"]["APPROACH_ADMIN_KEY_FILE"]
    assert [f"/run/secrets/{each}" for each in service["secrets"]] == [named]
    assert "admin_key" in compose["secrets"]["admin_key"]["file"]
    assert "APPROACH_ADMIN_KEY=" not in DOCKERFILE.read_text()
    assert "!docker" not in (ROOT / ".dockerignore").read_text()
    ignored = (ROOT / ".gitignore").read_text().split()
    assert "docker/admin_key" in ignored


def test_every_setting_in_the_container_files_exists() -> None:
    known = {setting.variable for setting in SETTINGS}
    known |= {f"{setting.variable}_FILE" for setting in SETTINGS if setting.secret}
    files = (DOCKERFILE, COMPOSE, KUBERNETES)
    named = {name for file in files for name in re.findall(r"APPROACH_[A-Z_]+", file.read_text())}
    assert named <= known
