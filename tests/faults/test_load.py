"""As much load as the service takes, and four fifths of that whatever it answers.

The quick tier has short loads and looks at what must hold in any case; times of answers and growth
of memory mean something in a minute on a machine that has nothing else to do, so they are asked of
the long tier, by itself. The quick one holds memory to a bound that does not wait for that.

Memory is compared when what functions remember is full, each up to its bound: until then, for about
a thousand decisions, it grows by a sixth (206 to 239 MB within a minute, 242 after another, seen).
"""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.counts import IS_LONG, LOAD_S
from tests.faults.conftest import Seen
from tests.faults.load import arriving, at_saturation, memory_of
from tests.faults.running import Running, running

BEGUN_S = LOAD_S / 6.0  # 10 s of a minute: what is loaded and remembered at first is there
WARM_UP_S = 1.0
GROWTH = 1.1
MOST_MB = 400.0  # two workers of 200 MB each, the target for one; all processes are in it
SHARE = 0.8
SPREAD = 10.0

pytestmark = pytest.mark.skipif(
    IS_LONG and "PYTEST_XDIST_WORKER" in os.environ, reason="needs the machine for itself"
)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder = tmp_path_factory.mktemp("load")
    with running(folder, APPROACH_LOG_LEVEL="ERROR") as started:
        at_saturation(started, max(WARM_UP_S, LOAD_S))  # what is loaded once, and remembered
        yield started


def grown(samples: list[tuple[float, float]]) -> float:
    """How many times the memory of the beginning there is at the end, most of the last samples."""
    begun = next(mb for at_s, mb in samples if at_s >= BEGUN_S)
    return max(mb for _, mb in samples[-4:]) / begun


def assert_memory_is_bounded(samples: list[tuple[float, float]]) -> None:
    assert max(mb for _, mb in samples) <= MOST_MB
    if IS_LONG:
        assert_memory_is_bounded(samples)


@pytest.mark.fault(
    "more than it can do, after a minute of it: twelve callers, each with the next case as soon as"
    " it has an answer",
    "every answer is a record, memory stays within 1.1 times that of the beginning",
)
def test_at_saturation_everything_is_answered_and_memory_is_bounded(
    service: Running, seen: Seen
) -> None:
    with memory_of(service) as samples:
        load = at_saturation(service, LOAD_S)
    seen("seconds", load.seconds, "")
    seen("recorded a second", load.rate, "")
    seen("memory", samples[-1][1], "MB")
    seen("times that of the beginning", grown(samples), "")
    assert load.other == []
    assert load.took_s
    assert_memory_is_bounded(samples)


@pytest.mark.fault(
    "arrivals by chance at 0.8 of the throughput of the same run, recorded, whatever is answered",
    "every answer is a record, 99 % within ten times the median, memory within 1.1 times that of"
    " the beginning",
)
def test_arrivals_below_what_it_can_do_are_answered_evenly(service: Running, seen: Seen) -> None:
    rate = SHARE * at_saturation(service, LOAD_S / 3.0).rate
    with memory_of(service) as samples:
        load = arriving(service, LOAD_S, rate=rate)
    median_s, late_s = load.percentile_s(50), load.percentile_s(99)
    seen("seconds", load.seconds, "")
    seen("arrivals a second", rate, "")
    seen("median", median_s * 1e3, "ms")
    seen("99 %", late_s * 1e3, "ms")
    seen("times the median", late_s / median_s, "")
    seen("times the memory of the beginning", grown(samples), "")
    assert load.other == []
    assert len(load.took_s) == load.sent > 0
    assert_memory_is_bounded(samples)
    if IS_LONG:
        assert late_s <= SPREAD * median_s
