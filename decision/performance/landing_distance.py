"""What governs a landing distance: an operator's table, factors for what is lost, or the physics.

A table with rows for the flap governs the landing with nothing lost. What is lost multiplies that
by its factor, the operator's own or the profile's, and the greater of that and of the physics
governs. Without rows the same holds with the physics of the sound landing in place of the table,
unless the profile lets nothing but its tables answer. Factors multiply, losses never cancel.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.performance.stopping import LandingSetting, Stop, stop
from decision.profile import Profile
from decision.profile.operator_tables import Departing, Elsewhere, Loss, OutOfTable, untabled
from decision.quantities import AntiSkid

HALF_THE_BRAKES: Final = 0.5  # the loss for which `half_brakes_lost` is stated
DEGRADED: Final = frozenset({AntiSkid.ON_OFF, AntiSkid.NONE})


class GoverningDistance(Struct, frozen=True, kw_only=True, gc=False):
    """The distance that governs, and what it was found from; `unknown` says why there is none."""

    distance_m: float | None
    floor_m: float | None = None
    table_m: float | None = None
    unknown: str | None = None


def governing(profile: Profile, setting: LandingSetting, stopped: Stop) -> GoverningDistance:
    """The distance of a landing, whose physics are known already."""
    computed_m = stopped.distance_m
    if computed_m is None:
        return GoverningDistance(distance_m=None)
    try:
        floor_m = max(_floors_m(profile, setting), default=None)
        if not _has_rows(profile, setting):
            return GoverningDistance(distance_m=max(computed_m, floor_m or 0.0), floor_m=floor_m)
        table_m = _sound_m(profile, _with_everything(profile, setting))
    except OutOfTable as error:
        return GoverningDistance(distance_m=None, unknown=str(error))
    least_m = max(table_m or 0.0, floor_m or 0.0)
    distance_m = max(computed_m, least_m) if _something_lost(profile, setting) else least_m
    return GoverningDistance(distance_m=distance_m, floor_m=floor_m, table_m=table_m)


# --- the landing with nothing lost -------------------------------------------------------------


def _has_rows(profile: Profile, setting: LandingSetting) -> bool:
    """Whether the operator's table has rows for the flap, with the slats as its lever has them."""
    table, flap = profile.tables.landing, setting.flap
    if table is None or not table.has(flap):
        return False
    return setting.slats_out is profile.slats_out_with_lever(flap)


def _sound_m(profile: Profile, sound: LandingSetting) -> float | None:
    """Distance of a landing with nothing lost: of the table, else of the physics if it may answer.

    Raises OutOfTable where the table ends, or has no rows and the physics may not answer.
    """
    table = profile.tables.landing
    if table is None or not _has_rows(profile, sound):
        _require_rows(profile, sound)
        return stop(profile, sound).distance_m
    return table.distance_m(
        flap=sound.flap,
        condition_code=sound.condition_code,
        mass_kg=sound.mass_kg,
        departing=_departing(profile, sound),
    )


def _require_rows(profile: Profile, setting: LandingSetting) -> None:
    """Raise OutOfTable unless rows, a factor for the flap, or by its leave the physics answer."""
    table = profile.tables.landing
    if table is None or profile.tables.elsewhere is Elsewhere.PHYSICS:
        return
    if not _has_rows(profile, setting) and _flap_factor(profile, setting) is None:
        slats = "out" if setting.slats_out else "in"
        raise untabled(f"flap {setting.flap} with slats {slats}", table=table.file)


def _departing(profile: Profile, setting: LandingSetting) -> dict[Departing, float]:
    """By what a landing departs from the conditions of a table; what is not positive does not."""
    altitude_ft, warmer_degc = setting.pressure_altitude_ft, setting.isa_deviation_degc
    return {
        Departing.PRESSURE_ALTITUDE_FT: altitude_ft,
        Departing.BELOW_SEA_LEVEL_FT: -altitude_ft,
        Departing.WARMER_DEGC: warmer_degc,
        Departing.COLDER_DEGC: -warmer_degc,
        Departing.HEADWIND_KT: setting.headwind_kt,
        Departing.TAILWIND_KT: -setting.headwind_kt,
        Departing.UPSLOPE_PERCENT: setting.slope_percent,
        Departing.DOWNSLOPE_PERCENT: -setting.slope_percent,
        Departing.SPEED_INCREMENT_KT: setting.speed_increment_kt,
        Departing.UNUSED_REVERSERS: float(profile.engine.count - setting.reversers),
    }


def _something_lost(profile: Profile, setting: LandingSetting) -> bool:
    """Whether anything is lost of which a table of sound landings knows nothing."""
    return setting != _with_everything(profile, setting)


def _with_everything(profile: Profile, setting: LandingSetting) -> LandingSetting:
    """The same landing with everything working; reversers that are not used stay unused."""
    return replace(setting, spoilers=1.0, brakes_fraction=1.0, anti_skid=profile.tyres.anti_skid)


# --- factors for what is lost ------------------------------------------------------------------


class _Shared(Struct, frozen=True, kw_only=True, gc=False):
    """The landing without all losses but those of spoilers and reversers, and their factor."""

    sound: LandingSetting
    factor: float


def _floors_m(profile: Profile, setting: LandingSetting) -> Iterator[float]:
    """The distances that factors ask for, each the same landing without the loss times a factor."""
    _require_rows(profile, setting)
    shared, lost_spoilers = _shared(profile, setting), 1.0 - setting.spoilers
    count = profile.engine.count
    spoilers = _grown(
        _factor(profile, setting.condition_code, Loss.GROUND_SPOILERS_LOST), lost_spoilers
    )
    reversers = _factor(profile, setting.condition_code, Loss.REVERSERS_LOST)
    alone, factor = shared.sound, shared.factor * spoilers
    if reversers is not None and setting.reversers < count:
        alone = replace(alone, reversers=count)
        factor *= _grown(reversers, 1.0 - setting.reversers / count)
    yield from _floor_m(profile, alone, factor)
    if lost_spoilers > 0.0 and setting.reversers == 0:
        both = _factor(profile, setting.condition_code, Loss.SPOILERS_AND_REVERSERS_LOST)
        together = shared.factor * _grown(both, lost_spoilers)
        yield from _floor_m(profile, replace(shared.sound, reversers=count), together)


def _floor_m(profile: Profile, sound: LandingSetting, factor: float) -> Iterator[float]:
    base_m = _sound_m(profile, sound) if factor > 1.0 else None
    if base_m is not None:
        yield factor * base_m


def _shared(profile: Profile, setting: LandingSetting) -> _Shared:
    """Brakes, anti-skid, a flap without rows, and a slope that no table corrects for."""
    anti_skid_lost = setting.anti_skid in DEGRADED - {profile.tyres.anti_skid}
    lost_brakes = (1.0 - setting.brakes_fraction) / (1.0 - HALF_THE_BRAKES)
    factor = _grown(_factor(profile, setting.condition_code, Loss.HALF_BRAKES_LOST), lost_brakes)
    sound = setting
    if setting.spoilers < 1.0 or setting.brakes_fraction < 1.0:
        sound = replace(setting, spoilers=1.0, brakes_fraction=1.0)
    if anti_skid_lost:
        factor *= _factor(profile, setting.condition_code, Loss.ANTI_SKID_LOST) or 1.0
        sound = replace(sound, anti_skid=profile.tyres.anti_skid)
    flap = _flap_factor(profile, setting)
    if flap is not None:
        landing_flap = profile.approach.landing_detent
        slats_out = profile.slats_out_with_lever(landing_flap)
        sound, factor = replace(sound, flap=landing_flap, slats_out=slats_out), factor * flap
    if setting.slope_percent < 0.0 and not _has_rows(profile, sound):
        factor *= 1.0 - profile.landing_factors.downslope_per_percent * setting.slope_percent
        sound = replace(sound, slope_percent=0.0)
    return _Shared(sound=sound, factor=factor)


def _flap_factor(profile: Profile, setting: LandingSetting) -> float | None:
    """The operator's factor for a detent that no table has rows for."""
    if _has_rows(profile, setting):
        return None
    return profile.tables.factors.landing_factor(
        Loss.FLAP, condition_code=setting.condition_code, detent=setting.flap
    )


@lru_cache(maxsize=256)
def _factor(profile: Profile, condition_code: int, loss: Loss) -> float | None:
    """The operator's factor for this surface, else the profile's; None if neither has one."""
    stated = profile.landing_factors
    own = profile.tables.factors.landing_factor(loss, condition_code=condition_code)
    if own is not None:
        return own
    return {
        Loss.GROUND_SPOILERS_LOST: stated.ground_spoilers_lost,
        Loss.SPOILERS_AND_REVERSERS_LOST: stated.spoilers_and_reversers_lost,
        Loss.HALF_BRAKES_LOST: stated.half_brakes_lost,
        Loss.ANTI_SKID_LOST: stated.anti_skid_lost,
    }.get(loss)


def _grown(factor: float | None, share: float) -> float:
    """A factor for the loss of a share of what it is stated for."""
    return 1.0 if factor is None else 1.0 + (factor - 1.0) * share
