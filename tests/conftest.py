"""What every test shares: hypothesis profiles, and no request ever leaves this machine."""

from __future__ import annotations

import os
import socket
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tests.counts import follow

settings.register_profile("dev", max_examples=50, deadline=None)
settings.register_profile(
    "ci",
    max_examples=100,
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "few",
    max_examples=10,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "nightly",
    max_examples=500,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci" if "CI" in os.environ else "dev"))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Laws with a count of their own follow the tier."""
    laws = {id(law): law for each in items if (law := getattr(each, "obj", None)) is not None}
    for law in laws.values():
        follow(law)


LOCAL = ("127.", "::1", "localhost", "/")


@pytest.fixture(autouse=True)
def no_foreign_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refuse to connect to anything but this machine."""
    connect = socket.socket.connect

    def guarded(self: socket.socket, address: Any) -> None:
        host = address if isinstance(address, str) else address[0]
        if not str(host).startswith(LOCAL):
            raise AssertionError(f"a test tried to reach {host}")
        connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", guarded)
