"""What is counted, in the text format that a Prometheus server reads.

Every label has a closed set of values: routes and rules of ours, verdicts, rulebooks, statuses.
Nothing that a caller writes becomes a label. With several server processes each writes its numbers
into files of one folder, and a scrape adds them up (`service/shared_counts.py`).
"""

from __future__ import annotations

import os
import time
from collections import Counter as Count
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from typing import Any, Final

from flask import Flask, Response, g, request
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    generate_latest,
)
from prometheus_client.multiprocess import MultiProcessCollector

from decision.answer import Answer
from decision.version import ENGINE_VERSION
from service.gauges import outbox_gauge, streams_gauge, tries_counter
from service.remembered import kept
from service.shared_counts import SHARED_FOLDER
from service.store import StoreUnavailable
from service.version import VERSION

METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
OTHER: Final = "other"
HUNDRED: Final = 100
LOOK_EACH: Final = 100  # decisions; a look takes less than a tenth of one
SECONDS: Final = (0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What an answer adds to the counts; small, so that it can cross a process boundary."""

    verdict: str
    rulebook: str
    outcomes: Mapping[tuple[str, str], int]


def tally_of(answer: Mapping[str, Any]) -> Tally:
    """The counts of one answer: its verdict, how many courses break a rule or leave it open."""
    outcomes = Count(
        (str(each["rule"]), outcome)
        for course in answer["courses"]
        for part, outcome in (("breaks", "FAIL"), ("open", "UNKNOWN"))
        for each in course[part]
    )
    return Tally(
        verdict=str(answer["verdict"]),
        rulebook=str(answer["provenance"]["rulebook"]["id"]),
        outcomes=dict(outcomes),
    )


def tally_of_told(answer: Answer) -> Tally:
    """The same, of an answer that is not written yet."""
    outcomes = Count(
        (each.rule, outcome)
        for course in answer.courses
        for part, outcome in ((course.breaks, "FAIL"), (course.open, "UNKNOWN"))
        for each in part
    )
    return Tally(
        verdict=answer.verdict, rulebook=answer.provenance.rulebook.id, outcomes=dict(outcomes)
    )


def tally_of_row(row: Mapping[str, Any]) -> Tally:
    """The counts of a decision of which only the figures are told."""
    return Tally(verdict=str(row["verdict"]), rulebook=str(row["rulebook"]), outcomes={})


class Metrics:
    """The counts of one application."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        self._requests = Histogram(
            "approach_http_request_seconds",
            "Time from a request's first line to its answer's headers.",
            ("route", "method", "status"),
            buckets=SECONDS,
            registry=self._registry,
        )
        self._decision_seconds = Histogram(
            "approach_decision_seconds",
            "Time to decide one case by itself, without HTTP, store and fetching.",
            buckets=SECONDS,
            registry=self._registry,
        )
        self._decisions = Counter(
            "approach_decisions",
            "Decisions made, recorded or not, those of batches too.",
            ("verdict", "rulebook"),
            registry=self._registry,
        )
        self._outcomes = Counter(
            "approach_rule_outcomes",
            "How often courses break a rule or leave it open.",
            ("rule", "outcome"),
            registry=self._registry,
        )
        self._kept = Gauge(
            "approach_remembered_values",
            "Values that a function has remembered, in the server process that has most.",
            ("function",),
            registry=self._registry,
            multiprocess_mode="max",
        )
        self._remembered = Gauge(
            "approach_remembered_looks",
            "How often a function was asked and knew the value already, or not; all processes.",
            ("function", "outcome"),
            registry=self._registry,
            multiprocess_mode="sum",
        )
        self._store_seconds = Histogram(
            "approach_store_seconds",
            "Time of a call of the log of decisions, the wait for the store in it.",
            ("call", "outcome"),
            buckets=SECONDS,
            registry=self._registry,
        )
        self._fetch_seconds = Histogram(
            "approach_fetch_seconds",
            "Time that a decision waits for reports to be fetched.",
            buckets=SECONDS,
            registry=self._registry,
        )
        self._fetched = Counter(
            "approach_fetched",
            "Reports that decisions lacked, by what came of fetching them.",
            ("kind", "outcome"),
            registry=self._registry,
        )
        self._lines = Counter(
            "approach_batch_lines",
            "Lines of batches, by what came of them.",
            ("outcome",),
            registry=self._registry,
        )
        self._batches = Histogram(
            "approach_batch_seconds",
            "Time in which a batch or a sweep was answered, from its whole body to its end.",
            ("outcome",),
            buckets=(*SECONDS, 30.0, 60.0, 120.0, 300.0, 600.0),
            registry=self._registry,
        )
        build = Gauge(
            "approach_build_info",
            "1; which version runs, and whose engine.",
            ("version", "engine"),
            registry=self._registry,
            multiprocess_mode="max",
        )
        build.labels(version=VERSION, engine=ENGINE_VERSION).set(1)
        for each in (streams_gauge, outbox_gauge, tries_counter):
            each(self._registry)  # what other processes count
        self._looks = count()

    def observe(self, app: Flask) -> None:
        """Time each request of an application that `observe_requests` watches already."""

        @app.after_request
        def end(response: Response) -> Response:
            rule = request.url_rule
            self._requests.labels(
                route=OTHER if rule is None else rule.rule,
                method=request.method if request.method in METHODS else OTHER,
                status=f"{response.status_code // HUNDRED}xx",
            ).observe(time.perf_counter() - g.started_s)
            return response

    def decided(self, tally: Tally, *, seconds: float | None = None) -> None:
        """Count a decision; one that was decided in another process has no time of its own."""
        self._decisions.labels(verdict=tally.verdict, rulebook=tally.rulebook).inc()
        for (rule, outcome), times in tally.outcomes.items():
            self._outcomes.labels(rule=rule, outcome=outcome).inc(times)
        if seconds is not None:
            self._decision_seconds.observe(seconds)
        if next(self._looks) % LOOK_EACH == 0:
            self._look()

    @contextmanager
    def store_call(self, call: str) -> Iterator[None]:
        """Time a call of the store; `failed`: it was away. What else it raises is an answer."""
        started_s, outcome = time.perf_counter(), "answered"
        try:
            yield
        except StoreUnavailable:
            outcome = "failed"
            raise
        finally:
            took_s = time.perf_counter() - started_s
            self._store_seconds.labels(call=call, outcome=outcome).observe(took_s)

    def fetched(self, notes: Sequence[Mapping[str, Any]], *, seconds: float) -> None:
        """Count what came of fetching for a case, by the notes that it got."""
        self._fetch_seconds.observe(seconds)
        for each in notes:
            outcome = "stale" if each["stale"] else "had" if each["problem"] is None else "failed"
            self._fetched.labels(kind=str(each["kind"]), outcome=outcome).inc()

    def line(self, outcome: str) -> None:
        """Count a line of a batch: decided, refused or replayed."""
        self._lines.labels(outcome=outcome).inc()

    def batch(self, outcome: str, *, seconds: float) -> None:
        """Count a batch: whole, late, or broken off by the caller or a fault."""
        self._batches.labels(outcome=outcome).observe(seconds)

    def _look(self) -> None:
        """See what this process remembers: another one answers the next scrape, perhaps."""
        for function, seen in kept().items():
            self._kept.labels(function=function).set(seen.values)
            self._remembered.labels(function=function, outcome="known").set(seen.known)
            self._remembered.labels(function=function, outcome="new").set(seen.new)

    def text(self) -> bytes:
        """Every count; with several processes, of all of them together."""
        self._look()
        if SHARED_FOLDER not in os.environ:
            return generate_latest(self._registry)
        together = CollectorRegistry()
        MultiProcessCollector(together)  # type: ignore[no-untyped-call]
        return generate_latest(together)


CONTENT_TYPE: Final = CONTENT_TYPE_LATEST
