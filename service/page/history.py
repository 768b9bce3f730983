"""The history of a flight as a page: each decision, what changed, where it moved and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import zip_longest
from typing import Any, Final

from msgspec import Struct

from decision.answer.changed import DIFFERENT, action_in_words, causes_told
from decision.brief.layout import clock_down
from decision.decide.decision import Verdict
from decision.legible import all_on_one_line

Data = Mapping[str, Any]

FIRST: Final = "The oldest that is kept, or that can be read: nothing is known to compare it with."
SAME: Final = {"from": None, "to": None}
UNCHANGED: Final[Data] = {
    "verdict": SAME,
    "action": SAME,
    "inputs": (),
    "weather": (),
    "findings": (),
    "cautions": (),
    "why": FIRST,
}
OUTCOME: Final = {None: "neither broken nor open", "PASS": "kept", "FAIL": "broken"}
UNKNOWN: Final = "not known"


class HistoryRow(Struct, frozen=True, kw_only=True):
    """A decision of the flight, beside the one before it."""

    decision: str
    at: str
    date: str
    verdict: Verdict
    action: str
    headline: str
    moved: str
    why: str
    different: tuple[str, ...]
    turned: tuple[str, ...]
    cautions: tuple[str, ...]
    older: str | None


class HistoryPage(Struct, frozen=True, kw_only=True):
    """What was decided for a flight, newest first."""

    flight: str
    shown_at: str
    rows: tuple[HistoryRow, ...]
    watches: tuple[str, ...]
    damaged: tuple[str, ...]
    next_before: str | None


def history_page(
    history: Data, ids: Sequence[str], watches: Sequence[Data], *, now: datetime
) -> HistoryPage:
    """The page of a history as `GET /v1/flights/{flight_id}/decisions` tells it.

    `ids`: of its decisions, and of the one that the last of them was compared with.
    """
    history = all_on_one_line(history)
    return HistoryPage(
        flight=history["flight_id"],
        shown_at=f"{now:%H:%MZ}",
        rows=tuple(
            _row(each, older)
            for each, older in zip_longest(history["decisions"], ids[1:])
            if each is not None
        ),
        watches=tuple(_watch(all_on_one_line(each)) for each in watches),
        damaged=tuple(f"{each['id']}: {each['why']}" for each in history["damaged"]),
        next_before=history["next_before"],
    )


def _row(told: Data, older: str | None) -> HistoryRow:
    changed: Data = told["changed"] or UNCHANGED
    return HistoryRow(
        decision=told["id"],
        at=clock_down(told["as_of"]),
        date=f"{datetime.fromisoformat(told['as_of']):%d %b %Y}",
        verdict=Verdict(told["verdict"]),
        action=action_in_words(told),
        headline=told["headline"],
        moved=_moved(changed),
        why=changed["why"].partition(DIFFERENT)[0].rstrip(),  # what was different has a list
        different=tuple(causes_told(changed["inputs"], changed["weather"])),
        turned=tuple(_turned(changed["findings"])),
        cautions=tuple(f"{each['what']}: {each['text']}" for each in changed["cautions"]),
        older=older,
    )


def _moved(changed: Data) -> str:
    """From what it moved, where verdict or action did."""
    differs = [
        f"{each['from']}"
        for each in (changed["verdict"], changed["action"])
        if each["from"] != each["to"]
    ]
    return f"MOVED: was {', '.join(differs)}" if differs else ""


def _turned(findings: Sequence[Data]) -> Iterator[str]:
    for each in findings:
        was, now = (_outcome(each["outcome"][side]) for side in ("from", "to"))
        yield f"{each['rule']} on {each['course']}: {was}, now {now}: {each['text']}"


def _outcome(outcome: str | None) -> str:
    return OUTCOME.get(outcome, UNKNOWN)


def _watch(watch: Data) -> str:
    until = f"Under watch until {clock_down(watch['until'])}"
    looked = watch["last_looked_at"]
    seen = "not looked at yet" if looked is None else f"looked at {clock_down(looked)}"
    following = "" if watch["due_at"] is None else f", next {clock_down(watch['due_at'])}"
    failing = f". It cannot be decided: {watch['last_failure']}" if watch["failures"] else ""
    return f"{until}: {seen}{following}{failing}."
