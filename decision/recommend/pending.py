"""Placeholders until the rooms that own them have landed."""

from __future__ import annotations

from decision.course import Attempt
from decision.rules.registry import Context
from decision.systems import Weight


def hazard_weight(attempt: Attempt, context: Context) -> Weight | None:
    return None


def may_be_barred(attempt: Attempt, context: Context) -> tuple[object, ...]:
    return ()


def gradient_short(attempt: Attempt, context: Context) -> bool:
    return False


def gradient_within_error(attempt: Attempt, context: Context) -> bool:
    return False


def landing_within_error(attempt: Attempt, context: Context) -> bool:
    return False
