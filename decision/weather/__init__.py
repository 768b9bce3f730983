"""Weather reports: decoded without flattery, then read for a window of time.

`decode` turns one METAR, SPECI or TAF into a `Report`.
"""

from decision.weather.decode import decode
from decision.weather.report import (
    CeilingState,
    Element,
    Elements,
    Period,
    PeriodKind,
    Report,
    ReportKind,
)

__all__ = [
    "CeilingState",
    "Element",
    "Elements",
    "Period",
    "PeriodKind",
    "Report",
    "ReportKind",
    "decode",
]
