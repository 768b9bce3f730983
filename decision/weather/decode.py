"""The way in: one raw report to one decoded report."""

from __future__ import annotations

from datetime import datetime, timedelta

from decision.errors import UnreadableReport
from decision.weather.forecast import foresee, read_validity
from decision.weather.normalise import Header, read_header, split_flags, stamped_at
from decision.weather.observation import observe
from decision.weather.report import Report, ReportKind


def decode(raw: str, *, received_at: datetime) -> Report:
    """Decode a METAR, SPECI or TAF received at an instant (aware UTC), which dates it.

    Never more optimistic than the text: what cannot be read is listed and leaves its element, or
    the span of its group, unknown. Raises: UnreadableReport only when kind, station or time cannot
    be read; ValueError if `received_at` is not in aware UTC.
    """
    if received_at.utcoffset() != timedelta(0):
        raise ValueError("the time of receipt must be in aware UTC")
    header = read_header(raw)
    if header.kind is ReportKind.TAF:
        return _forecast(header, raw, received_at)
    return observe(header, raw=raw, issued_at=_issued_at(header, raw, received_at))


def _issued_at(header: Header, raw: str, received_at: datetime) -> datetime:
    at = None
    if header.day is not None:
        at = stamped_at(
            day=header.day, hour=header.hour, minute=header.minute, received_at=received_at
        )
    if at is None:
        raise UnreadableReport(raw, "no such time of issue")
    return at


def _forecast(header: Header, raw: str, received_at: datetime) -> Report:
    """A TAF; without a time of issue its start of validity, or receipt if sooner, stands in."""
    _, words = split_flags(header)
    word = words[0] if words else ""
    if header.day is not None:
        issued_at = _issued_at(header, raw, received_at)
        validity = read_validity(word, reference_at=issued_at)
        return foresee(header, raw=raw, issued_at=issued_at, validity=validity)
    day, hour = int(word[0:2]), int(word[2:4])  # the header needs a validity where no time is
    start_at = stamped_at(day=day, hour=hour, minute=0, received_at=received_at)
    validity = None if start_at is None else read_validity(word, reference_at=start_at)
    if validity is None:
        raise UnreadableReport(raw, "neither a time of issue nor a validity can be read")
    issued_at = min(validity.start_at, received_at)
    return foresee(header, raw=raw, issued_at=issued_at, validity=validity)
