"""Flights as `GET /v1/flights` has them, made for the board."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from decision.windows import instant_text

NOW = datetime(2026, 3, 14, 6, 12, tzinfo=UTC)


def at(minutes: float) -> str:
    """An instant so many minutes from now."""
    return instant_text(NOW + timedelta(minutes=minutes))


def flight(name: str = "VENTO 318", **changes: Any) -> dict[str, Any]:
    """One that is to divert within nine minutes, decided two minutes ago."""
    return {
        "id": f"id of {name}",
        "flight_id": name,
        "created_at": at(-2),
        "as_of": at(-2),
        "destination": "XKAL",
        "verdict": "NO_GO",
        "action": {"do": "DIVERT", "aerodrome": "XTOR", "runway": "32"},
        "headline": "Divert to XTOR runway 32.",
        "because": "60 kg under final reserve after a miss",
        "deadline": {"at": at(9.5), "what": "last clean point"},
        "valid_until": {"at": at(9.5), "why": "last clean point"},
        "emergency": {"level": "NONE", "reason": "no declaration called for"},
        "until_then": ["do not extend the gear"],
        "ask": [],
        "fuel": {
            "landing_kg": 2535.0,
            "final_reserve_kg": 1185.0,
            "margin_kg": 1350.0,
            "at_most": False,
        },
        "decisions": 2,
        "moved": None,
        "watch": None,
        **changes,
    }


def watch(**changes: Any) -> dict[str, Any]:
    """A watch that looked a minute ago and looks again in a minute."""
    return {
        "id": "w",
        "decision": "id of VENTO 318",
        "until": at(60),
        "last_looked_at": at(-1),
        "due_at": at(1),
        "failures": 0,
        "last_failure": None,
        **changes,
    }
