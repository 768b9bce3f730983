"""Where recorded decisions live, behind one small port."""

from service.store.port import (
    DecisionLog,
    Draft,
    KeyInProgress,
    KeyReused,
    Record,
    Replay,
    Reservation,
    StoreDamaged,
    StoredDecision,
    StoreNotUnderstood,
    StoreUnavailable,
    digest,
)
from service.store.sql import SqlDecisionLog

__all__ = [
    "DecisionLog",
    "Draft",
    "KeyInProgress",
    "KeyReused",
    "Record",
    "Replay",
    "Reservation",
    "SqlDecisionLog",
    "StoreDamaged",
    "StoreNotUnderstood",
    "StoreUnavailable",
    "StoredDecision",
    "digest",
]
