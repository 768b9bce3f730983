"""Runway condition code in thirds, from whatever is known of the surface; the worst wins.

Evidence is a code reported by the aerodrome, a contaminant with its depth, a runway state group of
a METAR, a crew's braking report, and the weather itself. None of it can make the runway better than
another says; only good braking or friction, which a dry runway has too, counts for nothing beside a
surface that is known. Nothing known is no code at all; a runway without precipitation and without
any report is taken as dry, which is an assumption and is listed as one.
Source of the codes: the matrix of [GRF]; measured friction: [SNOW-PLAN].
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.tables import Row, rows
from decision.weather.phenomena import RunwayEffect, runway_effect
from decision.weather.readings import WeatherMet
from decision.weather.report import (
    BrakingAction,
    Deposit,
    Element,
    Intensity,
    Report,
    RunwayState,
    WeatherGroup,
)
from decision.weather.spots import Braking, SpotObservation

Codes = tuple[int | None, int | None, int | None]

MATRIX_FILE: Final = "runway_condition.csv"
BRAKING_FILE: Final = "runway_braking.csv"
BEST_CODE: Final = 6  # [GRF] dry
WET_CODE: Final = 5  # [GRF] wet, at most 3 mm
NO_OPERATIONS_CODE: Final = 0  # [GRF]
CLEARED_CODE: Final = 5  # [ASSUMED] contamination has ceased, the runway may still be wet
BRAKING_HOLDS: Final = timedelta(hours=1)  # [ASSUMED] until the landing; older only lowers a code
FREEZING_DEGC: Final = 0.0
COMBINED_KEPT: Final = 256
UNAVAILABLE_COLOUR: Final = "BLACK"
HALF_TURN: Final = 18  # designators go round the compass in tens of degrees
SIDE_FROM_THE_OTHER_END: Final = MappingProxyType({"L": "R", "R": "L", "C": "C", "": ""})


class ConditionBasis(StrEnum):
    """What a code rests on."""

    REPORTED_CODE = "reported_code"
    CONTAMINANT = "contaminant"
    RUNWAY_STATE = "runway_state"
    BRAKING = "braking"
    WEATHER = "weather"
    NO_PRECIPITATION = "no_precipitation"
    NOTHING = "nothing"


class Contaminant(StrEnum):
    """Surfaces that the table has."""

    DRY = "dry"
    FROST = "frost"
    DAMP = "damp"
    WET = "wet"
    SLIPPERY_WET = "slippery_wet"
    STANDING_WATER = "standing_water"
    SLUSH = "slush"
    DRY_SNOW = "dry_snow"
    WET_SNOW = "wet_snow"
    COMPACTED_SNOW = "compacted_snow"
    SNOW_OVER_COMPACTED_SNOW = "snow_over_compacted_snow"
    ICE = "ice"
    WET_ICE = "wet_ice"
    SLUSH_OVER_ICE = "slush_over_ice"
    WATER_OVER_COMPACTED_SNOW = "water_over_compacted_snow"
    SNOW_OVER_ICE = "snow_over_ice"
    FROZEN_RUTS = "frozen_ruts"


CONTAMINANT_OF_DEPOSIT: Final[Mapping[Deposit, Contaminant]] = MappingProxyType(
    {
        Deposit.DRY: Contaminant.DRY,
        Deposit.DAMP: Contaminant.DAMP,
        Deposit.WET: Contaminant.WET,
        Deposit.RIME_OR_FROST: Contaminant.FROST,
        Deposit.DRY_SNOW: Contaminant.DRY_SNOW,
        Deposit.WET_SNOW: Contaminant.WET_SNOW,
        Deposit.SLUSH: Contaminant.SLUSH,
        Deposit.ICE: Contaminant.ICE,
        Deposit.COMPACTED_SNOW: Contaminant.COMPACTED_SNOW,
        Deposit.FROZEN_RUTS: Contaminant.FROZEN_RUTS,
    }
)
BRAKING_OF_ACTION: Final[Mapping[BrakingAction, Braking]] = MappingProxyType(
    {
        BrakingAction.GOOD: Braking.GOOD,
        BrakingAction.MEDIUM_GOOD: Braking.GOOD_TO_MEDIUM,
        BrakingAction.MEDIUM: Braking.MEDIUM,
        BrakingAction.MEDIUM_POOR: Braking.MEDIUM_TO_POOR,
        BrakingAction.POOR: Braking.POOR,
    }
)


class Evidence(Struct, frozen=True, kw_only=True, gc=False):
    """What one source says of the three thirds, touchdown first.

    `at_best`: no third is better than this whatever another source says. `idle_beside_others`: good
    braking, which says nothing beside a known surface. `only_lowers`: too old to make a surface
    known, so nothing of it counts but `at_best`.
    """

    codes: Codes
    at_best: int
    basis: ConditionBasis
    text: str
    idle_beside_others: bool = False
    only_lowers: bool = False
    closed: bool = False


class Third(Struct, frozen=True, kw_only=True, gc=False):
    """The code of one third and the evidence that gave it."""

    code: int | None
    at_best: int
    basis: ConditionBasis
    text: str


class RunwayCondition(Struct, frozen=True, kw_only=True, gc=False):
    """The condition of a runway. `code` is that of its worst third, None unless all are known.

    `at_best`: the code is known not to be better. `thirds`: touchdown first. `because`: all the
    evidence, in plain words; `assumptions`: what of it nobody has reported.
    """

    code: int | None
    at_best: int
    thirds: tuple[Third, Third, Third]
    closed: bool
    basis: ConditionBasis
    because: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def best_code(self) -> int:
        """The code, or the best that it may be."""
        return self.at_best if self.code is None else self.code


def runway_condition(
    *,
    runway: str,
    weather: WeatherMet,
    landing_at: datetime,
    observation: Report | None = None,
    beside: Sequence[Report] = (),
    thirds: tuple[int, int, int] | None = None,
    contaminant: str | None = None,
    depth_mm: float | None = None,
    spots: Sequence[SpotObservation] = (),
    noticed: Sequence[Evidence] = (),
) -> RunwayCondition:
    """The condition of a runway for a window of weather, from all that is known of it.

    `landing_at` is what the age of a braking report is counted to; `beside`: other observations of
    the same time, as much in force; `noticed`: what notices say of it.
    Raises: ValueError on a contaminant that the table does not have. Source: [GRF] and as above.
    """
    temperature_degc = weather.temperature_degc
    evidence: list[Evidence] = list(noticed)
    if thirds is not None:
        evidence.append(reported_code(thirds))
    if contaminant is not None:
        evidence.append(surface(Contaminant(contaminant), depth_mm, temperature_degc))
    observations = (observation, *beside)
    for report in observations:
        for state in states_of(report, runway):
            evidence += state_group(state, temperature_degc)
        evidence += unread_states(report)
        evidence += closed_by_colour(report)
    evidence += braking_reports(spots, runway=runway, landing_at=landing_at)
    return _combined(tuple(evidence), from_conditions(weather, observations))


@lru_cache(maxsize=COMBINED_KEPT)
def _combined(evidence: tuple[Evidence, ...], sky: Evidence) -> RunwayCondition:
    """What all of it comes to; of most runways nothing is known but the same dry sky."""
    first, second, last = _thirds(evidence, sky)
    thirds = (first, second, last)
    worst = min(thirds, key=lambda third: (third.at_best, third.code is not None))
    codes = [third.code for third in thirds if third.code is not None]
    taken = any(third.basis is sky.basis and third.code is not None for third in thirds)
    return RunwayCondition(
        code=min(codes) if len(codes) == len(thirds) else None,
        at_best=worst.at_best,
        thirds=thirds,
        closed=any(each.closed for each in evidence),
        basis=worst.basis,
        because=tuple(dict.fromkeys(each.text for each in (*evidence, sky))),
        assumptions=(sky.text,) if taken else (),
    )


def _thirds(evidence: Sequence[Evidence], sky: Evidence) -> Iterator[Third]:
    """Each third; most evidence speaks of the whole length, and the thirds are alike."""
    found: dict[tuple[int | None, ...], Third] = {}
    for index, codes in enumerate(zip(*(each.codes for each in (*evidence, sky)), strict=True)):
        if codes not in found:
            found[codes] = _third(evidence, sky, index)
        yield found[codes]


def _third(evidence: Sequence[Evidence], sky: Evidence, index: int) -> Third:
    """The worst code of one third; the weather alone speaks only where nobody else does."""
    speaking = [each for each in evidence if not each.only_lowers] or [sky]
    known = [each for each in speaking if each.codes[index] is not None]
    heard = [each for each in known if not each.idle_beside_others] or known
    lid = min((sky, *evidence), key=lambda each: each.at_best)
    if not heard:
        first = speaking[0]
        return Third(code=None, at_best=lid.at_best, basis=first.basis, text=first.text)
    code, said = min(
        ((code, each) for each in heard if (code := each.codes[index]) is not None),
        key=lambda pair: pair[0],
    )
    if lid.at_best < code:
        code, said = lid.at_best, lid
    return Third(code=code, at_best=code, basis=said.basis, text=said.text)


# --- reported code, contaminant ---


def reported_code(thirds: tuple[int, int, int]) -> Evidence:
    """A runway condition code given by the aerodrome."""
    text = f"reported runway condition code {'/'.join(map(str, thirds))}"
    return Evidence(codes=thirds, at_best=BEST_CODE, basis=ConditionBasis.REPORTED_CODE, text=text)


def surface(
    contaminant: Contaminant, depth_mm: float | None, temperature_degc: float | None
) -> Evidence:
    """A contaminant, by the matrix; without a depth or temperature the worst row that may apply."""
    code = matrix_code(contaminant, depth_mm=depth_mm, temperature_degc=temperature_degc)
    depth = "" if depth_mm is None else f" {depth_mm:.0f} mm"
    text = f"{contaminant.replace('_', ' ')}{depth} is code {code}"
    return _uniform(code, ConditionBasis.CONTAMINANT, text)


def _uniform(code: int | None, basis: ConditionBasis, text: str, *, idle: bool = False) -> Evidence:
    """One code for the whole length."""
    return Evidence(
        codes=(code, code, code),
        at_best=BEST_CODE if idle or code is None else code,
        basis=basis,
        text=text,
        idle_beside_others=idle,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MatrixRow:
    """One row of the matrix; None: no bound. Lower bounds are exclusive, upper ones inclusive."""

    contaminant: Contaminant
    depth_above_mm: float | None
    depth_to_mm: float | None
    temperature_above_degc: float | None
    temperature_to_degc: float | None
    code: int


def matrix_code(
    contaminant: Contaminant, *, depth_mm: float | None, temperature_degc: float | None
) -> int:
    """The code of a contaminant, the worst of the rows that may apply. Source: [GRF]."""
    codes = possible_codes(contaminant, depth_mm=depth_mm, temperature_degc=temperature_degc)
    return min(codes)


def possible_codes(
    contaminant: Contaminant, *, depth_mm: float | None, temperature_degc: float | None
) -> tuple[int, ...]:
    """The codes of all rows that may apply. Source: [GRF]."""
    return tuple(
        row.code
        for row in _matrix()
        if row.contaminant is contaminant
        and _within(depth_mm, row.depth_above_mm, row.depth_to_mm)
        and _within(temperature_degc, row.temperature_above_degc, row.temperature_to_degc)
    )


def _within(value: float | None, above: float | None, to: float | None) -> bool:
    """Whether a value may lie between bounds; an unknown one may lie anywhere."""
    if value is None:
        return True
    return (above is None or value > above) and (to is None or value <= to)


@cache
def _matrix() -> tuple[MatrixRow, ...]:
    bounds = ("depth_above_mm", "depth_to_mm", "temperature_above_degc", "temperature_to_degc")
    return tuple(
        MatrixRow(
            contaminant=row.kind("contaminant", Contaminant),
            depth_above_mm=row.number_or_none("depth_above_mm"),
            depth_to_mm=row.number_or_none("depth_to_mm"),
            temperature_above_degc=row.number_or_none("temperature_above_degc"),
            temperature_to_degc=row.number_or_none("temperature_to_degc"),
            code=_code(row),
        )
        for row in rows(MATRIX_FILE, columns=frozenset({"contaminant", "code", *bounds}))
    )


def _code(row: Row) -> int:
    return row.whole("code", low=NO_OPERATIONS_CODE, high=BEST_CODE)


# --- braking ---


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakingRow:
    """Braking action, its code, and the measured friction from which it holds (None: never)."""

    braking: Braking
    code: int
    friction_from_ratio: float | None


@cache
def _brakings() -> tuple[BrakingRow, ...]:
    """The scale, best first."""
    columns = frozenset({"braking", "code", "friction_from_ratio"})
    return tuple(
        BrakingRow(
            braking=row.kind("braking", Braking),
            code=_code(row),
            friction_from_ratio=row.number_or_none("friction_from_ratio"),
        )
        for row in rows(BRAKING_FILE, columns=columns)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """A crew's braking report."""

    at: datetime
    row: BrakingRow

    @property
    def text(self) -> str:
        return f"braking reported {self.row.braking.replace('_', ' ')} at {self.at:%H%M}Z"


def braking_reports(
    spots: Sequence[SpotObservation], *, runway: str, landing_at: datetime
) -> Iterator[Evidence]:
    """The newest braking report of a crew on a runway; at one instant the worst.

    Where all are too old at the landing, the worst of them counts, and only lowers.
    """
    if not spots:
        return
    names = {*both_ends(runway), None}
    told = [
        _Told(at=spot.at, row=_row_of(spot.braking))
        for spot in spots
        if spot.braking is not None and spot.braking_runway in names
    ]
    if not told:
        return
    newest_at = max(each.at for each in told)
    if landing_at - newest_at <= BRAKING_HOLDS:
        newest = _worst(each for each in told if each.at == newest_at)
        yield _braking(newest.row, newest.text)
    else:
        yield _too_old(_worst(told))


def _worst(told: Iterable[_Told]) -> _Told:
    return min(told, key=lambda each: each.row.code)


def _too_old(told: _Told) -> Evidence:
    """A report of braking that holds no more: the runway is hardly better, and may be worse."""
    text = f"{told.text}, too old at the landing to make the runway known"
    return replace(_braking(told.row, text), codes=(None, None, None), only_lowers=True)


def _row_of(braking: Braking) -> BrakingRow:
    return next(row for row in _brakings() if row.braking == braking)


def _braking(row: BrakingRow, text: str) -> Evidence:
    good = row.braking is Braking.GOOD
    return _uniform(row.code, ConditionBasis.BRAKING, f"{text} is code {row.code}", idle=good)


# --- runway state groups ---


def states_of(observation: Report | None, runway: str) -> Iterator[RunwayState]:
    """The state groups of a METAR that speak of a runway, named from either end, or of all."""
    if observation is None or observation.elements is None:
        return
    if not observation.elements.runway_state:
        return
    names = {*both_ends(runway), None}
    for state in observation.elements.runway_state:
        if state.runway in names:
            yield state


def from_the_other_end(runway: str) -> str:
    """The designator of the same strip in the opposite direction: 06R is 24L."""
    number, side = int(runway[:2]), runway[2:]
    opposite = number + HALF_TURN if number <= HALF_TURN else number - HALF_TURN
    return f"{opposite:02d}{SIDE_FROM_THE_OTHER_END.get(side, side)}"


def both_ends(runway: str) -> frozenset[str]:
    """The designators that a strip has, by either of them."""
    return frozenset((runway, from_the_other_end(runway)))


def state_group(state: RunwayState, temperature_degc: float | None) -> tuple[Evidence, ...]:
    """What a state group says: its deposit, its friction or braking action, each on its own.

    A group that names none of them says that the state is not known. Unreliable friction says
    nothing. Source: [WMO-306] code tables 0919, 0519, 1079, 0366.
    """
    text = f"runway state {state.raw}"
    if state.closed:
        return (replace(_state(NO_OPERATIONS_CODE, f"{text}: closed"), closed=True),)
    said = tuple(_said_by(state, text, temperature_degc))
    return said or (_state(None, f"{text}: the state is not known"),)


def _said_by(state: RunwayState, text: str, temperature_degc: float | None) -> Iterator[Evidence]:
    if state.cleared:
        yield _state(CLEARED_CODE, f"{text}: cleared, may be wet: code {CLEARED_CODE}")
    if state.deposit is not None:
        contaminant = CONTAMINANT_OF_DEPOSIT[state.deposit]
        code = matrix_code(contaminant, depth_mm=state.depth_mm, temperature_degc=temperature_degc)
        yield _state(code, f"{text}: {state.deposit} is code {code}")
    if state.friction_coefficient is not None:
        row = _row_of_friction(state.friction_coefficient)
        yield _braking(row, f"{text}: friction {state.friction_coefficient:.2f}")
    if state.braking_action is not None and state.braking_action in BRAKING_OF_ACTION:
        row = _row_of(BRAKING_OF_ACTION[state.braking_action])
        yield _braking(row, f"{text}: braking {state.braking_action}")


def _state(code: int | None, text: str) -> Evidence:
    return _uniform(code, ConditionBasis.RUNWAY_STATE, text)


def unread_states(observation: Report | None) -> Iterator[Evidence]:
    """A state group that could not be read leaves the state unknown."""
    said = None if observation is None else observation.elements
    if said is not None and said.unknown and Element.RUNWAY_STATE in said.unknown:
        yield _state(None, "a runway state group of the report cannot be read")


def closed_by_colour(observation: Report | None) -> Iterator[Evidence]:
    """The military colour state BLACK: not available for other reasons than weather [PRACTICE]."""
    said = None if observation is None else observation.elements
    for word in () if said is None else said.set_aside:
        if word.startswith(UNAVAILABLE_COLOUR):
            text = f"colour state {word}: the aerodrome is not available"
            yield replace(_state(NO_OPERATIONS_CODE, text), closed=True)


def _row_of_friction(coefficient: float) -> BrakingRow:
    """The best braking action whose friction is reached. Source: [SNOW-PLAN]."""
    return next(
        row
        for row in _brakings()
        if row.friction_from_ratio is not None and coefficient >= row.friction_from_ratio
    )


# --- the weather itself ---


def from_conditions(weather: WeatherMet, observations: Iterable[Report | None]) -> Evidence:
    """What the weather of the window, and what fell before it, makes of a runway."""
    before = [each.elements for each in observations if each is not None and each.elements]
    fallen = [group for said in before for group in (*said.recent, *(said.weather or ()))]
    return from_weather(
        weather.weather,
        recent=(*weather.recent, *fallen),
        readable=Element.WEATHER not in weather.unknown,
        showers=any(each.precipitation for each in weather.disregarded),
        temperature_degc=weather.temperature_degc,
    )


def from_weather(
    present: Iterable[WeatherGroup],
    *,
    recent: Iterable[WeatherGroup] = (),
    readable: bool,
    showers: bool = False,
    temperature_degc: float | None = None,
) -> Evidence:
    """A runway by its weather alone.

    Rain or drizzle, present or recent: wet at best; heavy rain may stand deeper than that; snow,
    freezing precipitation, and rain in frost leave an unknown surface. `readable`: all of the
    weather is known. `showers`: precipitation that the reading disregards for the minima. A dry
    runway is an assumption.
    """
    groups = (*present, *recent)
    words = " ".join(dict.fromkeys(group.raw for group in groups))
    effect = runway_effect(groups)
    frost = temperature_degc is not None and temperature_degc <= FREEZING_DEGC
    if effect is RunwayEffect.FROZEN or (frost and effect is RunwayEffect.WET):
        return _sky(None, WET_CODE, f"{words} leaves an unknown surface")
    if effect is RunwayEffect.WET:
        if any(group.intensity is Intensity.HEAVY for group in groups):
            return _sky(None, WET_CODE, f"{words}: water may stand deeper than on a wet runway")
        return _sky(WET_CODE if readable else None, WET_CODE, f"{words}: wet")
    if not readable:
        return _sky(
            None, BEST_CODE, "the weather is not wholly known", basis=ConditionBasis.NOTHING
        )
    if showers:
        return _sky(WET_CODE, WET_CODE, "showers are forecast at times: taken as wet")
    text = "no precipitation reported or forecast: taken as dry"
    return _sky(BEST_CODE, BEST_CODE, text, basis=ConditionBasis.NO_PRECIPITATION)


def _sky(
    code: int | None, at_best: int, text: str, *, basis: ConditionBasis = ConditionBasis.WEATHER
) -> Evidence:
    return Evidence(codes=(code, code, code), at_best=at_best, basis=basis, text=text)
