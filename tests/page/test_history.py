"""The history of a flight as a page: each decision with what changed, and where it moved."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from service.page.history import FIRST, HistoryPage, history_page

NOW = datetime(2026, 3, 14, 6, 20, tzinfo=UTC)
SAME = {"from": "GO", "to": "GO"}


def decided(identity: str, **changes: Any) -> dict[str, Any]:
    return {
        "id": identity,
        "as_of": "2026-03-14T06:10:30Z",
        "verdict": "NO_GO",
        "action": {"do": "DIVERT", "aerodrome": "XTOR", "runway": "32"},
        "headline": "Divert.",
        "changed": None,
        **changes,
    }


def changed(**members: Any) -> dict[str, Any]:
    return {
        "verdict": SAME,
        "action": SAME,
        "inputs": [],
        "weather": [],
        "findings": [],
        "courses": [],
        "cautions": [],
        "why": "GO became NO_GO.",
        **members,
    }


def shown(*decisions: Any, watches: tuple[Any, ...] = ()) -> HistoryPage:
    told = {
        "flight_id": "VENTO 318",
        "decisions": decisions,
        "damaged": [{"id": "x", "created_at": "", "why": "cut off"}],
        "next_before": None,
    }
    return history_page(told, [each["id"] for each in decisions], watches, now=NOW)


def test_a_move_says_from_what_and_is_compared_with_the_one_before_it() -> None:
    moved = changed(
        verdict={"from": "GO", "to": "NO_GO"},
        action={"from": "APPROACH XKAL", "to": "DIVERT XTOR runway 32"},
        weather=[{"what": "came", "report": "SPECI XKAL"}],
        findings=[
            {
                "course": "c",
                "rule": "FU-01",
                "outcome": {"from": None, "to": "UNKNOWN"},
                "text": "fuel",
            }
        ],
        cautions=[{"what": "went", "text": "thin"}],
        why="GO became NO_GO. Different in the request: report came: SPECI XKAL.",
    )
    newest, oldest = shown(decided("b", changed=moved), decided("a")).rows
    assert newest.moved == "MOVED: was GO, APPROACH XKAL"
    assert newest.why == "GO became NO_GO."
    assert newest.different == ("report came: SPECI XKAL",)
    assert newest.turned == ("FU-01 on c: neither broken nor open, now not known: fuel",)
    assert newest.cautions == ("went: thin",)
    assert (newest.older, oldest.older) == ("a", None)
    assert (oldest.why, oldest.moved) == (FIRST, "")


def test_what_stands_as_before_has_not_moved() -> None:
    assert shown(decided("b", changed=changed())).rows[0].moved == ""


def test_the_watch_is_told_with_its_looks_and_with_what_keeps_it_from_deciding() -> None:
    watch = {
        "until": "2026-03-14T07:10:00Z",
        "last_looked_at": "2026-03-14T06:11:40Z",
        "due_at": "2026-03-14T06:13:40Z",
        "failures": 3,
        "last_failure": "no report",
    }
    assert shown(watches=(watch,)).watches == (
        "Under watch until 07:10Z: looked at 06:11Z, next 06:13Z. It cannot be decided: no report.",
    )
    waiting = {**watch, "last_looked_at": None, "due_at": None, "failures": 0}
    assert shown(watches=(waiting,)).watches == ("Under watch until 07:10Z: not looked at yet.",)
    assert shown().damaged == ("x: cut off",)
