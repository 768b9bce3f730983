"""One flight asked over and over: each failure that has not happened, now and later on its way.

Pure, like all of `decision`: which flights there are, and on which processes, is the caller's.
"""

from decision.sweep.asked import MOST_FLIGHTS, Shift, SweepAsked, SweepScope
from decision.sweep.flight import rows_of_flight
from decision.sweep.told import FlightSummary, SweepRow, summary_of

__all__ = [
    "MOST_FLIGHTS",
    "FlightSummary",
    "Shift",
    "SweepAsked",
    "SweepRow",
    "SweepScope",
    "rows_of_flight",
    "summary_of",
]
