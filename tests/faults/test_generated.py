"""Requests made from the whole document, right ones and wrong ones, to a real server."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from math import ceil
from typing import Any, Final

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis import GenerationMode
from schemathesis.specs.openapi.checks import positive_data_acceptance

from service.address import View
from service.keytext import KeyText, new_key
from service.negotiation import EVENT_STREAM
from service.resources import VIEWS
from tests.counts import GENERATED
from tests.faults.conftest import Seen
from tests.faults.running import Running, behind_its_door, running
from tests.service import lines_sent as lines_sent  # noqa: PLC0414 - it registers itself

ENDING: Final = [view for view in VIEWS if EVENT_STREAM not in view.address.forms]
KINDS: Final = [
    *((view, GenerationMode.POSITIVE) for view in ENDING),
    *((view, GenerationMode.NEGATIVE) for view in ENDING if view.address.body is not None),
]
TRIED: Final = KINDS[:: max(1, 2 * len(KINDS) // GENERATED)]  # some kinds only in the quick tier
OF_EACH: Final = ceil(GENERATED / len(TRIED))
FAILING, DECLARED = 500, 503


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Running, KeyText]]:
    key = new_key(os.urandom)
    with running(tmp_path_factory.mktemp("generated"), **behind_its_door(key)) as started:
        yield started, key


@pytest.mark.fault(
    "requests generated from the whole document, lines included, right and wrong, with a key,"
    " without, and with a wrong one",
    "no 5xx but a declared 503, each answer as the document says",
)
def test_no_generated_request_breaks_the_service_or_the_document(
    keyed: tuple[Running, KeyText], seen: Seen
) -> None:
    service, key = keyed
    api = schemathesis.openapi.from_url(f"{service.address}/openapi.json", headers=bearer(key))
    statuses: Counter[int] = Counter()
    for view, mode in TRIED:
        try_all(api, view, mode, headers=bearer(key), statuses=statuses)
    seen("generated", sum(statuses.values()), "")
    seen("of them answered 2xx", sum(statuses[code] for code in range(200, 300)), "")
    # An address with little to vary gets fewer: the long tier asks for more than 5,000.
    assert sum(statuses.values()) >= GENERATED * 9 // 10
    assert [code for code in statuses if code >= FAILING and code != DECLARED] == []


def bearer(key: KeyText) -> dict[str, str]:
    return {"Authorization": f"Bearer {key.text}"}


def try_all(
    api: Any,
    view: View,
    mode: GenerationMode,
    *,
    headers: dict[str, str],
    statuses: Counter[int],
) -> None:
    fuzzed = api[view.address.template][view.address.method]

    @given(fuzzed.as_strategy(generation_mode=mode))
    @settings(
        max_examples=OF_EACH,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
    )
    def holds(case: Any) -> None:
        answer = case.call_and_validate(headers=headers, excluded_checks=[positive_data_acceptance])
        statuses[answer.status_code] += 1

    holds()
