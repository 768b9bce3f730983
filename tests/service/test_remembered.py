"""What is remembered has a bound, or is read once."""

from __future__ import annotations

import importlib
import pkgutil
from inspect import signature

import pytest
from flask.testing import FlaskClient

import decision
from decision.attempt import draw
from decision.flight import physics
from service.remembered import keepers, kept, name_of
from tests.case.builders import demo

OF_THE_INSTALLATION = {  # unbounded, with as many values as the data that come with the product
    "profile.load.load_profile",
    "profile.systems_data.load_systems",
    "rulebooks.rulebook.load_rulebook",
    "case.derive.record_of",
    "attempt.minima.planning._rows",
    "performance.braking._laws",
}


@pytest.fixture(scope="module", autouse=True)
def everything_is_loaded() -> None:
    for module in pkgutil.walk_packages(decision.__path__, "decision."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    keepers.cache_clear()


def test_every_function_that_is_given_something_remembers_up_to_a_bound() -> None:
    unbounded = {
        name_of(keeper)
        for keeper in keepers()
        if keeper.cache_parameters()["maxsize"] is None and signature(keeper).parameters
    }
    assert unbounded == OF_THE_INSTALLATION


def test_one_that_stands_in_several_modules_is_told_once() -> None:
    assert vars(draw)["climb"] is physics.climb
    assert [keeper for keeper in keepers() if keeper is physics.climb] == [physics.climb]


def test_what_is_remembered_is_among_the_metrics(real_client: FlaskClient) -> None:
    assert real_client.post("/v1/decisions?record=false", json=demo("clean")).status_code == 200
    text = real_client.get("/metrics").text
    told = dict(
        line.rsplit(" ", 1)
        for line in text.splitlines()
        if line.startswith("approach_remembered_values")
    )
    name = 'approach_remembered_values{function="flight.physics._room"}'
    assert float(told[name]) == kept()["flight.physics._room"].values > 0
    assert len(told) == len(kept())
