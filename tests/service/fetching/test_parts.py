"""The parts of fetching by themselves, on clocks moved by hand."""

from __future__ import annotations

import contextlib
import re
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fetching.breaker import FAILURES_TO_OPEN, OPEN_S, Breaker, BreakerState
from service.fetching.cache import Cache, Entry
from service.fetching.cadence import CADENCES
from service.fetching.deadline import FetchDeadline
from service.fetching.failure import FetchFailed
from service.fetching.retry import LONGEST_PAUSE_S, TRIES, with_retries
from service.fetching.template import Template
from tests.service.fetching.builders import KEY, NOW, HandClock, forecast, observation

URL = f"https://weather.example/{{kind}}?ids={{stations}}&key={KEY}"

# --- template ---


def test_a_template_is_filled_with_codes_and_a_kind_only() -> None:
    address = Template(URL).address(stations=["XKAL", "XBRE"], kind="taf")
    assert address == f"https://weather.example/taf?ids=XKAL,XBRE&key={KEY}"


@pytest.mark.parametrize("station", ["xkal", "XKA", "XKALX", "XK/L", "X&k=", "../.", "XKAL\n", ""])
def test_nothing_but_a_code_goes_into_a_template(station: str) -> None:
    with pytest.raises(ValueError, match="not location indicators"):
        Template(URL).address(stations=["XKAL", station], kind="taf")


def test_a_template_is_filled_for_somebody() -> None:
    with pytest.raises(ValueError, match="not location indicators"):
        Template(URL).address(stations=[], kind="taf")


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("https://weather.example/{stations", "is not an address"),
        ("https://weather.example:port/{stations}", "is not an address"),
        ("https://[::1/{stations}", "is not an address"),
        ("https://weather.example/ {stations}", "printable ASCII"),
        ("https://weäther.example/{stations}", "printable ASCII"),
        ("https://user@weather.example/{stations}", "without user and placeholders"),
        ("https://{kind}.example/{stations}", "without user and placeholders"),
        ("/{stations}", "without user and placeholders"),
        ("http://weather.example/{stations}", "this machine only"),
        ("http://localhost.example/{stations}", "this machine only"),
        ("ftp://localhost/{stations}", "this machine only"),
        ("file://localhost/{stations}", "this machine only"),
        ("https://weather.example/{kind}", "must hold {stations}"),
        ("https://weather.example/{{stations}}", "must hold {stations}"),
        ("https://weather.example/{stations}/{key}", "nothing else in braces"),
        ("https://weather.example/{stations.__class__}", "nothing else in braces"),
        ("https://weather.example/{stations}/{kind!r}", "nothing else in braces"),
        ("https://weather.example/{stations}/{kind:9}", "nothing else in braces"),
        ("https://weather.example/{stations}/{{x}}", "nothing else in braces"),
    ],
)
def test_a_wrong_template_is_refused_with_the_reason(text: str, problem: str) -> None:
    with pytest.raises(ValueError, match=re.escape(problem)) as error:
        Template(text)
    assert "example" not in str(error.value)


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1", "127.9.9.9", "[::1]"])
def test_this_machine_may_be_called_without_encryption(host: str) -> None:
    assert Template(f"http://{host}:8081/{{stations}}").host == host.strip("[]")


def test_a_template_shows_its_host_and_nothing_else() -> None:
    template = Template(URL)
    assert repr(template) == "Template(host='weather.example')"


@pytest.mark.parametrize(
    "text",
    [
        "https://w.example/{stations}?id=1&key=top-secret",
        "https://w.example/top-secret/{stations}?id=1",
        "https://w.example/{stations}?key=top-secret==&id=1",
        "https://w.example/{stations}?key=top%2Dsecret&id=1",
    ],
)
def test_a_key_is_hidden_wherever_the_address_has_it(text: str) -> None:
    hidden = Template(text).without_secrets("key top-secret is wrong, id=1")
    assert hidden == "key *** is wrong, id=1"


@pytest.mark.parametrize(("text", "by_kind"), [(URL, True), (URL.replace("{kind}", "all"), False)])
def test_a_template_tells_kinds_apart_or_does_not(text: str, *, by_kind: bool) -> None:
    assert Template(text).by_kind is by_kind


# --- deadline ---


def test_a_deadline_is_drawn_on_by_everything_and_never_below_nothing() -> None:
    clock = HandClock()
    deadline = FetchDeadline(total_s=2.0, monotonic=clock.monotonic)
    assert (deadline.left_s(), deadline.is_over) == (2.0, False)
    clock.move(1.5)
    assert deadline.require_s() == 0.5
    clock.move(7.0)
    assert (deadline.left_s(), deadline.is_over) == (0.0, True)
    with pytest.raises(FetchFailed, match="did not answer within 2 s"):
        deadline.require_s()


# --- second tries ---


class Failing:
    """A call that fails so many times, then succeeds."""

    def __init__(self, failure: FetchFailed, *, times: int) -> None:
        self.failure, self.times, self.tries = failure, times, 0

    def __call__(self) -> str:
        self.tries += 1
        if self.tries <= self.times:
            raise self.failure
        return "at last"


def tried(call: Failing, clock: HandClock, *, total_s: float = 60.0, chance: float = 1.0) -> str:
    deadline = FetchDeadline(total_s=total_s, monotonic=clock.monotonic)
    return with_retries(call, deadline=deadline, sleep=clock.sleep, chance=lambda: chance)


def test_pauses_double_and_are_cut_by_chance() -> None:
    for chance, slept in ((1.0, [0.2, 0.4]), (0.5, [0.1, 0.2]), (0.0, [0.0, 0.0])):
        clock, call = HandClock(), Failing(FetchFailed("busy", transient=True), times=2)
        assert tried(call, clock, chance=chance) == "at last"
        assert clock.slept == slept


def test_the_last_failure_is_told_when_no_try_succeeds() -> None:
    clock, call = HandClock(), Failing(FetchFailed("busy", transient=True), times=99)
    with pytest.raises(FetchFailed, match="busy"):
        tried(call, clock)
    assert call.tries == TRIES


def test_what_will_not_change_is_not_tried_again() -> None:
    clock, call = HandClock(), Failing(FetchFailed("refused"), times=1)
    with pytest.raises(FetchFailed, match="refused"):
        tried(call, clock)
    assert (call.tries, clock.slept) == (1, [])


@pytest.mark.parametrize("retry_after_s", [21_600.0, LONGEST_PAUSE_S, float("inf")])
def test_a_source_that_asks_for_long_is_not_waited_for(retry_after_s: float) -> None:
    failure = FetchFailed("busy", transient=True, retry_after_s=retry_after_s)
    clock, call = HandClock(), Failing(failure, times=1)
    with pytest.raises(FetchFailed, match="busy"):
        tried(call, clock)
    assert (call.tries, clock.slept) == (1, [])


def test_a_source_that_asks_for_a_second_gets_it() -> None:
    failure = FetchFailed("busy", transient=True, retry_after_s=1.0)
    clock, call = HandClock(), Failing(failure, times=1)
    assert tried(call, clock) == "at last"
    assert clock.slept == [1.2]


@given(
    retry_after_s=st.floats(0, 30_000),
    total_s=st.floats(0.01, 30),
    chance=st.floats(0, 1),
    times=st.integers(1, 5),
)
def test_pauses_together_never_outlast_the_deadline(
    retry_after_s: float, total_s: float, chance: float, times: int
) -> None:
    failure = FetchFailed("busy", transient=True, retry_after_s=retry_after_s)
    clock, call = HandClock(), Failing(failure, times=times)
    with contextlib.suppress(FetchFailed):
        tried(call, clock, total_s=total_s, chance=chance)
    assert sum(clock.slept) <= total_s + 1e-6
    assert call.tries <= TRIES


# --- breaker ---


def fail(breaker: Breaker) -> None:
    with pytest.raises(FetchFailed, match="down"), breaker.guard():
        raise FetchFailed("down")


def succeed(breaker: Breaker) -> None:
    with breaker.guard():
        pass


def refused(breaker: Breaker) -> bool:
    try:
        succeed(breaker)
    except FetchFailed:
        return True
    return False


def test_failures_in_a_row_open_the_breaker_and_a_success_between_starts_anew() -> None:
    breaker = Breaker(monotonic=HandClock().monotonic)
    for _ in range(FAILURES_TO_OPEN - 1):
        fail(breaker)
    succeed(breaker)
    for _ in range(FAILURES_TO_OPEN - 1):
        fail(breaker)
    states = [breaker.state]
    fail(breaker)
    assert [*states, breaker.state] == [BreakerState.CLOSED, BreakerState.OPEN]
    assert refused(breaker)


@pytest.mark.parametrize("returns", [True, False])
def test_the_probe_decides_whether_an_open_breaker_closes(*, returns: bool) -> None:
    clock = HandClock()
    breaker = Breaker(monotonic=clock.monotonic)
    for _ in range(FAILURES_TO_OPEN):
        fail(breaker)
    clock.move(OPEN_S - 1)
    assert refused(breaker)
    clock.move(1)
    (succeed if returns else fail)(breaker)
    assert breaker.state is (BreakerState.CLOSED if returns else BreakerState.OPEN)
    assert refused(breaker) is not returns


@pytest.mark.parametrize("returns", [True, False])
def test_a_call_from_before_has_no_say_while_the_breaker_is_open(*, returns: bool) -> None:
    clock = HandClock()
    breaker = Breaker(monotonic=clock.monotonic)
    late = breaker.guard()
    late.__enter__()
    for _ in range(FAILURES_TO_OPEN):
        fail(breaker)
    error = None if returns else FetchFailed("down")
    assert not late.__exit__(type(error) if error else None, error, None)
    assert breaker.state is BreakerState.OPEN


# --- cadence and cache ---


@pytest.mark.parametrize(
    ("kind", "came", "fresh_until"),
    [
        ("observation", "06:06", "06:11"),  # looked for every 5 min: a SPECI may come
        ("observation", "06:31", "06:35"),  # the next one is due
        ("observation", "06:34", "06:35"),
        ("observation", "06:35", "06:40"),
        ("observation", "23:59", "00:04"),
        ("forecast", "06:06", "06:36"),  # looked for every 30 min: an amendment may come
        ("forecast", "05:10", "05:20"),  # the one of five o'clock is due
        ("forecast", "05:20", "05:50"),
        ("forecast", "10:59", "11:20"),
        ("forecast", "23:19", "23:20"),
    ],
)
def test_a_report_is_fresh_until_a_newer_one_is_due_or_may_have_come(
    kind: str, came: str, fresh_until: str
) -> None:
    key = observation("XKAL") if kind == "observation" else forecast("XKAL")
    at = datetime.combine(NOW, datetime.strptime(came, "%H:%M").time(), UTC)  # noqa: DTZ007
    until = CADENCES[key.kind].fresh_until(at)
    assert until.strftime("%H:%M") == fresh_until
    assert at < until <= at + timedelta(minutes=30)


def test_what_came_is_fresh_then_stale_then_gone() -> None:
    cache, key = Cache(), observation("XKAL")
    entry = Entry(reports=("METAR XKAL",), at=NOW)
    assert (cache.fresh(key, now=NOW), cache.stale(key, now=NOW)) == (None, None)
    cache.put(key, entry)
    seen = []
    for minutes in (0, 4, 5, 60, 61):
        now = NOW + timedelta(minutes=minutes)
        seen.append((cache.fresh(key, now=now), cache.stale(key, now=now)))
    assert seen == [(entry, entry), (entry, entry), (None, entry), (None, entry), (None, None)]


def test_what_came_after_now_is_not_used() -> None:
    cache, key = Cache(), observation("XKAL")
    cache.put(key, Entry(reports=(), at=NOW))
    before = NOW - timedelta(seconds=1)
    assert (cache.fresh(key, now=before), cache.stale(key, now=before)) == (None, None)


def test_the_cache_is_bounded_and_forgets_the_longest_unused() -> None:
    cache, entry = Cache(capacity=2), Entry(reports=(), at=NOW)
    first, second, third = observation("XAAA"), observation("XBBB"), observation("XCCC")
    cache.put(first, entry)
    cache.put(second, entry)
    assert cache.fresh(first, now=NOW) == entry
    cache.put(third, entry)
    assert len(cache) == 2
    assert [cache.fresh(key, now=NOW) for key in (first, second, third)] == [entry, None, entry]
