"""A service in processes of its own with its watcher, and cases of the present moment."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from decision.windows import instant_text
from tests.case.builders import demo
from tests.faults.running import Running, children_of

WATCHER: Final = b"service.watching"
DEMO_AT: Final = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
SOON_S: Final = 30.0


def present(name: str = "clean", *, at: datetime | None = None, **changes: Any) -> dict[str, Any]:
    """A demo case as of now: its reports stamped with the same ages as before."""
    now = datetime.now(UTC).replace(microsecond=0) if at is None else at
    case = demo(name) | {"as_of": instant_text(now)} | changes
    weather = case["weather"]
    texts = [restamped(each, DEMO_AT, now) for each in weather["reports"]]
    return case | {"weather": {**weather, "reports": texts}}


def restamped(text: str, was: datetime, now: datetime) -> str:
    """A report with every day and hour moved on by what lies between two moments.

    Day, hour and minute of an issue move to the minute; periods, which have whole hours, to the
    hour before.
    """
    by = now - was
    words = text.split(" ")
    return " ".join(_moved(each, was, by) for each in words)


def _moved(word: str, was: datetime, by: timedelta) -> str:
    first, slash, last = word.partition("/")
    if slash and _digits(first, 4) and _digits(last, 4):
        return f"{_hour(first, was, by)}/{_hour(last, was, by)}"
    if word.startswith("FM") and _digits(word[2:], 6):
        return f"FM{_minute(word[2:], was, by)}"
    if word.endswith("Z") and _digits(word[:-1], 6):
        return f"{_minute(word[:-1], was, by)}Z"
    return word


def _digits(text: str, count: int) -> bool:
    return len(text) == count and text.isdigit()


def _minute(text: str, was: datetime, by: timedelta) -> str:
    at = was.replace(day=int(text[:2]), hour=int(text[2:4]), minute=int(text[4:])) + by
    return f"{at:%d%H%M}"


def _hour(text: str, was: datetime, by: timedelta) -> str:
    hour = int(text[2:])
    at = was.replace(day=int(text[:2]), hour=0, minute=0) + timedelta(hours=hour) + by
    return f"{at:%d%H}"


def fog(now: datetime | None = None) -> str:
    """A special report of fog at the destination, issued now."""
    at = datetime.now(UTC) if now is None else now
    return f"SPECI XKAL {at:%d%H%M}Z 26004KT 0300 R27R/0300N FG VV001 08/08 Q1013"


def fine(now: datetime | None = None) -> str:
    """A special report of good weather at the destination, issued now."""
    at = datetime.now(UTC) if now is None else now
    return f"SPECI XKAL {at:%d%H%M}Z 26008KT 9999 FEW040 08/02 Q1013"


def watch(service: Running, *, minutes: float = 60, **case: Any) -> Any:
    """A case of now under watch."""
    decided = service.ask("/v1/decisions", present(**case))
    assert decided.status == 201, decided.content
    until = instant_text(datetime.now(UTC).replace(microsecond=0) + timedelta(minutes=minutes))
    begun = service.ask("/v1/watches", {"decision_id": decided.json()["id"], "until": until})
    assert begun.status == 201, begun.content
    return begun.json()


def told(service: Running, identity: str) -> Any:
    """A watch as it stands."""
    return service.ask(f"/v1/watches/{identity}").json()


def until_so(holds: Callable[[], bool], *, seconds: float = SOON_S) -> None:
    """Wait until something holds. Raises: TimeoutError."""
    end_s = time.monotonic() + seconds
    while not holds():
        if time.monotonic() > end_s:
            raise TimeoutError("it did not come to be so")
        time.sleep(0.02)


def watchers(service: Running) -> list[int]:
    """The processes of the watcher and of its crew."""
    own = [each for each in service.children() if WATCHER in _command(each)]
    return [*own, *(each for one in own for each in children_of(one))]


def _command(pid: int) -> bytes:
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    except OSError:
        return b""


def is_running(pid: int) -> bool:
    """Whether there is a process of that number."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return b"Z" not in Path(f"/proc/{pid}/stat").read_bytes().rpartition(b")")[2][:3]
