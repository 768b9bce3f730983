"""Where recorded decisions live, behind one small port."""

from service.store.port import (
    DamagedDecision,
    DecisionLog,
    Draft,
    Kept,
    KeyInProgress,
    KeyReused,
    Purged,
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
    "DamagedDecision",
    "DecisionLog",
    "Draft",
    "Kept",
    "KeyInProgress",
    "KeyReused",
    "Purged",
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
