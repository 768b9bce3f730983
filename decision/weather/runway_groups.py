"""The runway state group of a METAR, in its form with R and slash and in its form of eight figures.

Most states stopped these groups in 2021: their absence says nothing about a runway.
"""

from __future__ import annotations

import re
from re import Match
from types import MappingProxyType
from typing import Final

from decision.weather.report import BrakingAction, Deposit, RunwayState

_STATE: Final = re.compile(
    r"(?:R(?P<name>\d\d(?:LL|RR|[LCR])?)/|(?P<number>\d\d))"
    r"(?:(?P<cleared>CLRD)(?P<cleared_friction>\d\d|//)?|(?P<closed>SNOCLO)"
    r"|(?P<deposit>[\d/])(?P<extent>[\d/])(?P<depth>\d\d|//)(?P<friction>\d\d|//))"
)
_AERODROME_CLOSED: Final = frozenset({"SNOCLO", "R/SNOCLO"})

_ALL_RUNWAYS: Final = "88"  # [WMO-306] FM 15, 15.13.6.1
_LAST_GROUP_REPEATED: Final = "99"  # [WMO-306] FM 15, 15.13.6.1
_RIGHT_RUNWAY_FROM: Final = 50  # [WMO-306] eight-figure form: 50 added for the right runway

_DEPOSITS: Final = MappingProxyType(
    dict(zip("0123456789", Deposit, strict=True))  # [WMO-306] code table 0919, in its order
)
# [WMO-306] code table 0519: upper end of each band in percent; other figures are reserved.
_EXTENTS_PERCENT: Final = MappingProxyType({"1": 10.0, "2": 25.0, "5": 50.0, "9": 100.0})
# [WMO-306] code table 1079: 00 to 90 in millimetres, then the steps below; 91 is reserved.
_DEPTH_MM_UP_TO: Final = 90
_DEPTHS_MM: Final = MappingProxyType(
    {92: 100.0, 93: 150.0, 94: 200.0, 95: 250.0, 96: 300.0, 97: 350.0, 98: 400.0}
)
_DEPTH_OR_MORE: Final = 98
_NOT_OPERATIONAL: Final = 99
# [WMO-306] code table 0366: 00 to 90 in hundredths, then braking action; 96 to 98 are reserved.
_FRICTION_UP_TO: Final = 90
_FRICTION_COUNTS: Final = 100.0
_BRAKING: Final = MappingProxyType(
    {
        91: BrakingAction.POOR,
        92: BrakingAction.MEDIUM_POOR,
        93: BrakingAction.MEDIUM,
        94: BrakingAction.MEDIUM_GOOD,
        95: BrakingAction.GOOD,
        99: BrakingAction.UNRELIABLE,
    }
)


def read_runway_state(token: str) -> RunwayState | None:
    """A runway state group, or None if the word is not one. Source: [WMO-306] FM 15, 15.13.6."""
    if token in _AERODROME_CLOSED:
        return RunwayState(runway=None, closed=True, raw=token)
    found = _STATE.fullmatch(token)
    if found is None:
        return None
    name = found["name"] or found["number"]
    depth = _number(found["depth"])
    friction = _number(found["friction"] or found["cleared_friction"])
    return RunwayState(
        runway=_runway(name, right_is_coded=found["number"] is not None),
        repeated=name == _LAST_GROUP_REPEATED,
        deposit=_DEPOSITS.get(found["deposit"] or ""),
        extent_percent=_EXTENTS_PERCENT.get(found["extent"] or ""),
        depth_mm=_depth_mm(depth),
        depth_at_least=depth == _DEPTH_OR_MORE,
        friction_coefficient=_friction(friction),
        braking_action=None if friction is None else _BRAKING.get(friction),
        cleared=found["cleared"] is not None,
        closed=_is_closed(found, depth),
        raw=token,
    )


def _is_closed(found: Match[str], depth: int | None) -> bool:
    return found["closed"] is not None or depth == _NOT_OPERATIONAL


def _number(digits: str | None) -> int | None:
    return int(digits) if digits is not None and digits.isdigit() else None


def _runway(name: str, *, right_is_coded: bool) -> str | None:
    if name in (_ALL_RUNWAYS, _LAST_GROUP_REPEATED):
        return None
    if right_is_coded and int(name) > _RIGHT_RUNWAY_FROM:
        return f"{int(name) - _RIGHT_RUNWAY_FROM:02d}R"
    return name


def _depth_mm(code: int | None) -> float | None:
    if code is None:
        return None
    return float(code) if code <= _DEPTH_MM_UP_TO else _DEPTHS_MM.get(code)


def _friction(code: int | None) -> float | None:
    return code / _FRICTION_COUNTS if code is not None and code <= _FRICTION_UP_TO else None
