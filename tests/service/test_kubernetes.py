"""The manifests hold against the schemas of Kubernetes and against the service; none was run."""

from __future__ import annotations

import runpy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import kubernetes_validate
import pytest
import yaml

from service.keytext import new_key
from service.resources import VIEWS
from service.scopes import Scope
from service.settings import ROOT, settings_from
from tests.service.test_container import YAML_RULES, linter, output_of

FILE = ROOT / "docker" / "kubernetes.yaml"
PARTS: list[dict[str, Any]] = [*yaml.safe_load_all(FILE.read_text(encoding="utf-8"))]
WANTED = {
    "ConfigMap",
    "CronJob",
    "Deployment",
    "NetworkPolicy",
    "PodDisruptionBudget",
    "Service",
    "ServiceAccount",
}


def the(kind: str) -> dict[str, Any]:
    """The only part of a kind."""
    (found,) = (part for part in PARTS if part["kind"] == kind)
    return found


def pods() -> Iterator[dict[str, Any]]:
    """What every pod is made from."""
    yield the("Deployment")["spec"]["template"]
    yield the("CronJob")["spec"]["jobTemplate"]["spec"]["template"]


def containers() -> Iterator[dict[str, Any]]:
    for pod in pods():
        yield from (*pod["spec"].get("initContainers", ()), *pod["spec"]["containers"])


def service() -> dict[str, Any]:
    """The container that serves."""
    found: dict[str, Any] = the("Deployment")["spec"]["template"]["spec"]["containers"][0]
    return found


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part["kind"])
def test_every_part_holds_against_the_schema_of_its_kind(part: dict[str, Any]) -> None:
    kubernetes_validate.validate(part, kubernetes_validate.latest_version(), strict=True)


def test_the_schemas_notice_what_is_wrong() -> None:
    wrong = the("Service") | {"spec": {"ports": [{"port": "many"}]}}
    with pytest.raises(kubernetes_validate.ValidationError):
        kubernetes_validate.validate(wrong, kubernetes_validate.latest_version(), strict=True)


def test_yamllint_has_nothing_against_them_and_every_kind_is_there() -> None:
    assert output_of(linter("yamllint"), "-s", "-d", YAML_RULES, FILE) == ""
    assert {part["kind"] for part in PARTS} == WANTED


def test_no_pod_is_root_or_may_become_it_and_none_writes_into_its_image() -> None:
    assert len([*pods()]) == 2
    assert len([*containers()]) == 3
    for pod in pods():
        spec = pod["spec"]
        assert spec["securityContext"]["runAsNonRoot"] is True
        assert spec["securityContext"]["runAsUser"] == 10001, "that of the image"
        assert spec["securityContext"]["seccompProfile"] == {"type": "RuntimeDefault"}
        assert spec["automountServiceAccountToken"] is False
    for container in containers():
        assert container["securityContext"] == {
            "readOnlyRootFilesystem": True,
            "allowPrivilegeEscalation": False,
            "capabilities": {"drop": ["ALL"]},
        }
        assert "/tmp" in {each["mountPath"] for each in container["volumeMounts"]}  # noqa: S108


def test_every_container_has_limits_and_what_it_asks_for_is_within_them() -> None:
    told = [container["resources"] for container in containers()]
    assert {kind for each in told for kind in each} == {"limits", "requests"}
    assert {(*each["limits"], *each["requests"]) for each in told} == {("cpu", "memory") * 2}


def test_variables_of_other_services_are_kept_away() -> None:
    """They would begin with the name of a service, as settings do, and stop the start."""
    assert the("Service")["metadata"]["name"].upper().startswith("APPROACH")
    assert all(pod["spec"]["enableServiceLinks"] is False for pod in pods())


def test_probes_ask_what_is_open_under_a_name_that_is_accepted(tmp_path: Path) -> None:
    host = settings(tmp_path).accepted_hosts[0]
    open_paths = {view.address.template for view in VIEWS if view.address.scope is Scope.OPEN}
    for name in ("startupProbe", "livenessProbe"):
        asked = service()[name]["httpGet"]
        assert asked["path"] in open_paths
        assert asked["httpHeaders"] == [{"name": "Host", "value": host}]
    assert service()["readinessProbe"]["exec"]["command"][-1] == "service.healthcheck"


def settings(folder: Path) -> Any:
    """The settings of the manifests, with files where they say that files are."""
    data: dict[str, str] = dict(the("ConfigMap")["data"])
    key, store = folder / "admin_key", folder / "store"
    key.write_text(new_key(bytes).text)
    store.write_text("postgresql+psycopg://a:b@postgresql/approach")
    secret = next(each for each in service()["volumeMounts"] if each["name"] == "secrets")
    for name, file in (("APPROACH_ADMIN_KEY_FILE", key), ("APPROACH_STORE_FILE", store)):
        assert data[name] == f"{secret['mountPath']}/{file.name}"
        data[name] = str(file)
    return settings_from({**data, "APPROACH_HOST": "0.0.0.0"})  # noqa: S104 - as the image has it


def test_the_settings_are_ones_that_the_service_starts_with(tmp_path: Path) -> None:
    read = settings(tmp_path)
    assert read.admin_key is not None
    assert not read.stands_open
    cores = int(service()["resources"]["limits"]["cpu"])
    assert (read.workers, read.batch_processes) == (cores, cores)
    assert service()["ports"][0]["containerPort"] == read.port


def test_a_stop_has_the_time_that_the_service_takes() -> None:
    spec = the("Deployment")["spec"]["template"]["spec"]
    before_s = service()["lifecycle"]["preStop"]["sleep"]["seconds"]
    stop_s = runpy.run_module("service.server")["graceful_timeout"]
    assert spec["terminationGracePeriodSeconds"] > before_s + stop_s


def test_what_selects_pods_selects_those_of_the_service() -> None:
    labels = the("Deployment")["spec"]["template"]["metadata"]["labels"]
    selectors = (
        the("Deployment")["spec"]["selector"]["matchLabels"],
        the("Service")["spec"]["selector"],
        the("PodDisruptionBudget")["spec"]["selector"]["matchLabels"],
        the("NetworkPolicy")["spec"]["podSelector"]["matchLabels"],
    )
    assert all(selector.items() <= labels.items() for selector in selectors)
    assert (
        the("PodDisruptionBudget")["spec"]["minAvailable"] < the("Deployment")["spec"]["replicas"]
    )
    purge = the("CronJob")["spec"]["jobTemplate"]["spec"]["template"]["metadata"]["labels"]
    assert not the("Service")["spec"]["selector"].items() <= purge.items()


def test_the_network_is_closed_but_for_what_is_named() -> None:
    policy = the("NetworkPolicy")["spec"]
    assert set(policy["policyTypes"]) == {"Ingress", "Egress"}
    assert all(rule["from"] and rule["ports"] for rule in policy["ingress"])
    assert all(rule["to"] and rule["ports"] for rule in policy["egress"])
