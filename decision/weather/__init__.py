"""Weather reports: decoded without flattery, then read for a window of time.

`decode` turns one METAR, SPECI or TAF into a `Report`; `report_to_mapping` makes it plain data.
"""

from decision.weather.decode import decode
from decision.weather.mapping import report_to_mapping
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
    "report_to_mapping",
]
