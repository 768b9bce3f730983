"""What a failure or a lost system does to the aircraft: a closed set of effects.

The vocabulary in which a profile's `<id>.systems.toml` is written. Each effect is one small value
with its source; `decision.systems` reduces a set of them to a capability, so their order means
nothing. Effects without fields say everything by being there; `words` puts each into plain words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import ClassVar, Final

from decision.errors import require_range
from decision.quantities import AntiSkid

WHOLE: Final = 1.0
MAX_DRAG_INCREMENT: Final = 0.1  # [ASSUMED] several times the drag of the landing gear
MAX_CHECKLIST_MIN: Final = 60.0  # [ASSUMED] a longer list is a mistake in the file
CAUTION_CODE: Final = re.compile(r"[A-Z][A-Z0-9_]*")


class Urgency(StrEnum):
    """How soon the aircraft should be on the ground; members in rising order."""

    NONE = "none"
    NEAREST_SUITABLE = "nearest_suitable"
    AS_SOON_AS_POSSIBLE = "as_soon_as_possible"


class Extension(StrEnum):
    """How the landing gear can still be extended; members from good to bad."""

    NORMAL = "normal"
    ALTERNATE = "alternate"
    NONE = "none"


class Drive(StrEnum):
    """How fast flaps or slats still move; members from good to bad."""

    NORMAL = "normal"
    SLOW = "slow"
    NONE = "none"


class Weight(StrEnum):
    """How much a caution weighs; members in rising order."""

    INFO = "info"
    CAUTION = "caution"
    WARNING = "warning"


class ApproachEquipment(StrEnum):
    """What an approach may need on board."""

    ILS = "ILS"
    GNSS = "GNSS"
    VOR = "VOR"
    DME = "DME"
    RADALT = "RADALT"
    AUTOPILOT = "AUTOPILOT"
    FLIGHT_DIRECTOR = "FLIGHT_DIRECTOR"
    AUTOTHRUST = "AUTOTHRUST"


class LimitName(StrEnum):
    """A limit that a failure can set; the unit, if it has one, ends the name."""

    MAX_PRESSURE_ALTITUDE_FT = "max_pressure_altitude_ft"
    MAX_CAS_KT = "max_cas_kt"
    MAX_MACH = "max_mach"
    MAX_CROSSWIND_KT = "max_crosswind_kt"
    MAX_TIME_ALOFT_MIN = "max_time_aloft_min"
    MAX_BRAKE_APPLICATIONS = "max_brake_applications"
    MAX_BRAKE_ENERGY_RATIO = "max_brake_energy_ratio"
    MIN_APPROACH_SPEED_INCREMENT_KT = "min_approach_speed_increment_kt"


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitSpec:
    """Words and unit of a limit, which of two values is the stricter, what is believable."""

    words: str
    unit: str
    strictest: Callable[[float, float], float]
    low: float
    high: float


# [ASSUMED] ranges: wider than any airliner, narrow enough to catch a wrong unit.
LIMITS: Final[Mapping[LimitName, LimitSpec]] = MappingProxyType(
    {
        LimitName.MAX_PRESSURE_ALTITUDE_FT: LimitSpec(
            words="Pressure altitude at most", unit="ft", strictest=min, low=5_000.0, high=45_000.0
        ),
        LimitName.MAX_CAS_KT: LimitSpec(
            words="Calibrated airspeed at most", unit="kt", strictest=min, low=150.0, high=400.0
        ),
        LimitName.MAX_MACH: LimitSpec(
            words="Mach number at most", unit="", strictest=min, low=0.3, high=0.95
        ),
        LimitName.MAX_CROSSWIND_KT: LimitSpec(
            words="Crosswind at most", unit="kt", strictest=min, low=0.0, high=50.0
        ),
        LimitName.MAX_TIME_ALOFT_MIN: LimitSpec(
            words="Time in the air at most", unit="min", strictest=min, low=5.0, high=600.0
        ),
        LimitName.MAX_BRAKE_APPLICATIONS: LimitSpec(
            words="Brake applications at most", unit="", strictest=min, low=1.0, high=20.0
        ),
        LimitName.MAX_BRAKE_ENERGY_RATIO: LimitSpec(
            words="Share of the brake energy limit at most",
            unit="",
            strictest=min,
            low=0.1,
            high=1.0,
        ),
        LimitName.MIN_APPROACH_SPEED_INCREMENT_KT: LimitSpec(
            words="Approach speed increment at least", unit="kt", strictest=max, low=0.0, high=40.0
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """Root of all effects; `source` is a key of the bibliography."""

    kind: ClassVar[str]
    words_template: ClassVar[str]
    source: str

    @property
    def words(self) -> str:
        """The effect in plain words."""
        return self.words_template.format(self=self).rstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lose(Effect):
    """A node of the graph stops working."""

    kind: ClassVar[str] = "lose"
    words_template: ClassVar[str] = "{self.node} is lost"
    node: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EngineOut(Effect):
    """The engine that the node is gives no thrust."""

    kind: ClassVar[str] = "engine-out"
    words_template: ClassVar[str] = "the engine gives no thrust"


@dataclass(frozen=True, slots=True, kw_only=True)
class ThrustLimited(Effect):
    """An engine gives at most this share of each of its thrust ratings."""

    kind: ClassVar[str] = "thrust"
    words_template: ClassVar[str] = "{self.engine} gives at most {self.ratio:.0%} thrust"
    engine: str
    ratio: float

    def __post_init__(self) -> None:
        require_range("ratio", self.ratio, low=0.0, high=WHOLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class GearNotRetractable(Effect):
    """Once down, the gear stays down."""

    kind: ClassVar[str] = "gear-not-retractable"
    words_template: ClassVar[str] = "the gear cannot be retracted"


@dataclass(frozen=True, slots=True, kw_only=True)
class GearExtension(Effect):
    """The gear can be extended only in this way."""

    kind: ClassVar[str] = "gear-extension"
    words_template: ClassVar[str] = "gear extension: {self.extension}"
    extension: Extension


@dataclass(frozen=True, slots=True, kw_only=True)
class GearDoorsStayOpen(Effect):
    """The gear doors do not close after an extension."""

    kind: ClassVar[str] = "gear-doors-stay-open"
    words_template: ClassVar[str] = "the gear doors stay open after extension"


@dataclass(frozen=True, slots=True, kw_only=True)
class GearDoorsHanging(Effect):
    """Gear doors stand in the airflow now, wherever the gear is."""

    kind: ClassVar[str] = "gear-doors-hanging"
    words_template: ClassVar[str] = "gear doors hang open now"


@dataclass(frozen=True, slots=True, kw_only=True)
class GearUnconfirmed(Effect):
    """Nobody can say that every leg is locked."""

    kind: ClassVar[str] = "gear-unconfirmed"
    words_template: ClassVar[str] = "the gear is not confirmed locked"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlapsJammed(Effect):
    """The flaps do not leave the detent that the report of the failure names."""

    kind: ClassVar[str] = "flaps-jammed"
    words_template: ClassVar[str] = "the flaps stay at the reported detent"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlapsLimited(Effect):
    """The flaps must not go beyond the detent that the report of the failure names."""

    kind: ClassVar[str] = "flaps-limited"
    words_template: ClassVar[str] = "the flaps do not go beyond the reported detent"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlapsExtendOnly(Effect):
    """The flaps extend, and then do not come in again."""

    kind: ClassVar[str] = "flaps-extend-only"
    words_template: ClassVar[str] = "flaps once extended cannot be retracted"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlapDrive(Effect):
    """The flaps move only in this way."""

    kind: ClassVar[str] = "flap-drive"
    words_template: ClassVar[str] = "flap drive: {self.drive}"
    drive: Drive


@dataclass(frozen=True, slots=True, kw_only=True)
class SlatsJammed(Effect):
    """The slats do not leave the position that the report of the failure names."""

    kind: ClassVar[str] = "slats-jammed"
    words_template: ClassVar[str] = "the slats stay at the reported position"


@dataclass(frozen=True, slots=True, kw_only=True)
class SlatsExtendOnly(Effect):
    """The slats extend, and then do not come in again."""

    kind: ClassVar[str] = "slats-extend-only"
    words_template: ClassVar[str] = "slats once extended cannot be retracted"


@dataclass(frozen=True, slots=True, kw_only=True)
class SlatDrive(Effect):
    """The slats move only in this way."""

    kind: ClassVar[str] = "slat-drive"
    words_template: ClassVar[str] = "slat drive: {self.drive}"
    drive: Drive


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitTo(Effect):
    """A named limit; of two the stricter holds. Raises OutOfRange outside `LIMITS`."""

    kind: ClassVar[str] = "limit"
    words_template: ClassVar[str] = "{self.spec.words} {self.value:g} {self.spec.unit}"
    name: LimitName
    value: float

    def __post_init__(self) -> None:
        require_range(self.name, self.value, low=self.spec.low, high=self.spec.high)

    @property
    def spec(self) -> LimitSpec:
        """Unit and sense of the limit."""
        return LIMITS[self.name]


@dataclass(frozen=True, slots=True, kw_only=True)
class DragIncrement(Effect):
    """Extra zero-lift drag coefficient, on the wing area; increments add."""

    kind: ClassVar[str] = "drag"
    words_template: ClassVar[str] = "drag coefficient +{self.increment:g}"
    increment: float

    def __post_init__(self) -> None:
        require_range("increment", self.increment, low=0.0, high=MAX_DRAG_INCREMENT)


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelFlowIncrement(Effect):
    """Extra fuel flow as a share of the normal one; increments add."""

    kind: ClassVar[str] = "fuel-flow"
    words_template: ClassVar[str] = "fuel flow +{self.share:.0%}"
    share: float

    def __post_init__(self) -> None:
        require_range("share", self.share, low=0.0, high=WHOLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class BrakesLost(Effect):
    """A share of the aircraft's wheel braking is gone; shares of distinct wheels add."""

    kind: ClassVar[str] = "brakes"
    words_template: ClassVar[str] = "{self.share:.0%} of the wheel braking is lost"
    share: float

    def __post_init__(self) -> None:
        require_range("share", self.share, low=0.0, high=WHOLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoilersLost(Effect):
    """A share of the ground spoilers is gone; shares of distinct panels add."""

    kind: ClassVar[str] = "spoilers"
    words_template: ClassVar[str] = "{self.share:.0%} of the ground spoilers is lost"
    share: float

    def __post_init__(self) -> None:
        require_range("share", self.share, low=0.0, high=WHOLE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReverserLost(Effect):
    """One thrust reverser is not usable."""

    kind: ClassVar[str] = "reverser"
    words_template: ClassVar[str] = "one reverser is lost"


@dataclass(frozen=True, slots=True, kw_only=True)
class AntiSkidReduced(Effect):
    """The wheel brakes are modulated no better than this."""

    kind: ClassVar[str] = "anti-skid"
    words_template: ClassVar[str] = "anti-skid: {self.level}"
    level: AntiSkid


@dataclass(frozen=True, slots=True, kw_only=True)
class SteeringLost(Effect):
    """The nose wheel cannot be steered."""

    kind: ClassVar[str] = "steering"
    words_template: ClassVar[str] = "no nose-wheel steering"


@dataclass(frozen=True, slots=True, kw_only=True)
class BlocksRunway(Effect):
    """After landing the aircraft is likely to stay on the runway."""

    kind: ClassVar[str] = "blocks-runway"
    words_template: ClassVar[str] = "the aircraft is likely to block the runway after landing"


@dataclass(frozen=True, slots=True, kw_only=True)
class PressurisationLost(Effect):
    """The cabin is at the altitude of the aircraft."""

    kind: ClassVar[str] = "pressurisation"
    words_template: ClassVar[str] = "the cabin is not pressurised"


@dataclass(frozen=True, slots=True, kw_only=True)
class AntiIceLost(Effect):
    """Flight in icing is not protected any more."""

    kind: ClassVar[str] = "anti-ice"
    words_template: ClassVar[str] = "not protected against icing"


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentLost(Effect):
    """Equipment that an approach may need is gone."""

    kind: ClassVar[str] = "approach-equipment"
    words_template: ClassVar[str] = "no {self.equipment} approach equipment"
    equipment: ApproachEquipment


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelLeak(Effect):
    """Fuel runs out of the aircraft at the rate reported with the failure, or an unknown one."""

    kind: ClassVar[str] = "leak"
    words_template: ClassVar[str] = (
        "fuel leaks at the reported rate; without one the rate is unknown"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelUnusable(Effect):
    """The quantity reported with the failure, or an unknown one, cannot reach the engines."""

    kind: ClassVar[str] = "fuel-unusable"
    words_template: ClassVar[str] = "fuel on board that is not usable"


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelQuantityDoubtful(Effect):
    """The indicated quantity cannot be relied on."""

    kind: ClassVar[str] = "fuel-quantity-doubtful"
    words_template: ClassVar[str] = "the indicated fuel quantity is doubtful"


@dataclass(frozen=True, slots=True, kw_only=True)
class LandBy(Effect):
    """The aircraft should land this soon; of two the sooner holds."""

    kind: ClassVar[str] = "urgency"
    words_template: ClassVar[str] = "land: {self.urgency}"
    urgency: Urgency


@dataclass(frozen=True, slots=True, kw_only=True)
class ChecklistTime(Effect):
    """Minutes of work on the way; lists are done one after another.

    `before_landing_min` of them must be over before the aircraft may touch down.
    """

    kind: ClassVar[str] = "checklist"
    words_template: ClassVar[str] = "checklist {self.minutes:g} min{self.before_landing_words}"
    minutes: float
    before_landing_min: float = 0.0

    def __post_init__(self) -> None:
        require_range("minutes", self.minutes, low=0.0, high=MAX_CHECKLIST_MIN)
        require_range("before_landing_min", self.before_landing_min, low=0.0, high=self.minutes)

    @property
    def before_landing_words(self) -> str:
        """What of it keeps a touchdown waiting."""
        minutes = self.before_landing_min
        return f", {minutes:g} of them before landing" if minutes > 0.0 else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice(Effect):
    """Something to say to the crew. Raises ValueError on a bad code."""

    kind: ClassVar[str] = "caution"
    words_template: ClassVar[str] = "{self.text}"
    code: str
    text: str
    weight: Weight

    def __post_init__(self) -> None:
        if not CAUTION_CODE.fullmatch(self.code):
            raise ValueError(f"a code is capitals, digits and underscores: {self.code!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class LandingHazard(Advice):
    """Makes the landing itself unsafe, however long the runway."""

    kind: ClassVar[str] = "landing-hazard"


@dataclass(frozen=True, slots=True, kw_only=True)
class OneWay(Effect):
    """A step that uses something up for good."""

    kind: ClassVar[str] = "one-way"
    words_template: ClassVar[str] = "cannot be undone: {self.step}"
    what: str
    step: str


EFFECTS: Final[Mapping[str, type[Effect]]] = MappingProxyType(
    {
        effect.kind: effect
        for effect in (
            Lose, EngineOut, ThrustLimited,
            GearNotRetractable, GearExtension, GearDoorsStayOpen, GearDoorsHanging, GearUnconfirmed,
            FlapsJammed, FlapsLimited, FlapsExtendOnly, FlapDrive,
            SlatsJammed, SlatsExtendOnly, SlatDrive,
            LimitTo, DragIncrement, FuelFlowIncrement,
            BrakesLost, SpoilersLost, ReverserLost, AntiSkidReduced, SteeringLost, BlocksRunway,
            PressurisationLost, AntiIceLost, EquipmentLost,
            FuelLeak, FuelUnusable, FuelQuantityDoubtful,
            LandBy, ChecklistTime, Advice, LandingHazard, OneWay,
        )
    }
)  # fmt: skip
"""Every kind of effect that a systems file may use."""
