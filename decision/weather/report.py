"""What a weather report says, element by element: value, bound, unit as reported, raw groups.

Three things are kept apart everywhere: an element that the text does not mention (None, or absent
from a change group, where it means "unchanged"), an element that it names but that cannot be relied
on (listed in `Elements.unknown`), and a value. A missing figure is None, never a default.
Speeds are in knots, lengths in metres, heights in feet above the aerodrome, as the trade speaks.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Annotated

from decision.fields import Instant, about
from decision.quantities import Bound
from decision.windows import Window


class ReportKind(StrEnum):
    """The three code forms [WMO-306]: FM 15, FM 16, FM 51."""

    METAR = "METAR"
    SPECI = "SPECI"
    TAF = "TAF"


class PeriodKind(StrEnum):
    """What a group of a forecast or trend does to the weather before it."""

    BASE = "BASE"
    FM = "FM"
    BECMG = "BECMG"
    TEMPO = "TEMPO"
    INTER = "INTER"
    PROB = "PROB"
    PROB_TEMPO = "PROB TEMPO"
    PROB_INTER = "PROB INTER"


class Element(StrEnum):
    """An element of the weather, as the name of what can be unknown."""

    WIND = "wind"
    VISIBILITY = "visibility"
    RVR = "rvr"
    WEATHER = "weather"
    CLOUD = "cloud"
    TEMPERATURE = "temperature"
    PRESSURE = "pressure"
    RUNWAY_STATE = "runway_state"


class WindUnit(StrEnum):
    """Unit in which a wind was reported."""

    KT = "KT"
    MPS = "MPS"
    KMH = "KMH"


class LengthUnit(StrEnum):
    """Unit in which a visibility or a runway visual range was reported."""

    M = "m"
    KM = "km"
    FT = "ft"
    SM = "SM"


class PressureUnit(StrEnum):
    """Unit in which a pressure was reported."""

    HPA = "hPa"
    INHG = "inHg"


class CloudAmount(StrEnum):
    """Cloud amount; VV is a sky that cannot be seen, with its vertical visibility as base."""

    FEW = "FEW"
    SCT = "SCT"
    BKN = "BKN"
    OVC = "OVC"
    VV = "VV"


class Convective(StrEnum):
    """Convective cloud that a layer is reported with."""

    CB = "CB"
    TCU = "TCU"


class CeilingState(StrEnum):
    """Whether there is a ceiling: a height, none, or not known."""

    VALUE = "value"
    NONE = "none"
    UNKNOWN = "unknown"


class Tendency(StrEnum):
    """Tendency of a runway visual range."""

    UP = "U"
    DOWN = "D"
    NO_CHANGE = "N"


class Intensity(StrEnum):
    """Intensity or proximity of present weather."""

    LIGHT = "-"
    MODERATE = ""
    HEAVY = "+"
    VICINITY = "VC"


class Deposit(StrEnum):
    """Runway deposit, code table 0919 [WMO-306]."""

    DRY = "dry"
    DAMP = "damp"
    WET = "wet"
    RIME_OR_FROST = "rime or frost"
    DRY_SNOW = "dry snow"
    WET_SNOW = "wet snow"
    SLUSH = "slush"
    ICE = "ice"
    COMPACTED_SNOW = "compacted or rolled snow"
    FROZEN_RUTS = "frozen ruts or ridges"


class BrakingAction(StrEnum):
    """Estimated braking action, code table 0366 [WMO-306]."""

    POOR = "poor"
    MEDIUM_POOR = "medium to poor"
    MEDIUM = "medium"
    MEDIUM_GOOD = "medium to good"
    GOOD = "good"
    UNRELIABLE = "unreliable"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wind:
    """Surface wind; calm is 0 kt from 0 deg.

    `from_true_deg` None with `variable`: no single direction (VRB); None without: not reported.
    `speed_kt` None: not reported. `gust_kt` None: no gust group, or `gust_bound` UNKNOWN.
    `variation` is the sector, clockwise from the first to the second direction.
    """

    from_true_deg: Annotated[
        float | None, about("True direction; null: variable, or not reported.", unit="degrees")
    ]
    variable: Annotated[bool, about("No single direction.")] = False
    speed_kt: Annotated[float | None, about("Mean speed; null: not reported.", unit="kt")]
    speed_bound: Annotated[Bound, about("How the speed bounds the true one.")] = Bound.EXACT
    gust_kt: Annotated[float | None, about("Gust; null: none, or not readable.", unit="kt")] = None
    gust_bound: Annotated[Bound, about("How the gust bounds the true one.")] = Bound.EXACT
    variation: Annotated[
        tuple[float, float] | None,
        about("Sector of directions, clockwise from the first to the second.", unit="degrees"),
    ] = None
    unit_reported: Annotated[WindUnit, about("Unit of the report.")]
    raw: Annotated[str, about("The groups it was read from.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Visibility:
    """Prevailing visibility, with the directional minimum when one is reported.

    `metres` None goes with bound UNKNOWN; a figure with BELOW counts at its value or lower, one
    with AT_LEAST or ABOVE is never credited above it.
    """

    metres: Annotated[float | None, about("Prevailing visibility; null: not known.", unit="m")]
    bound: Annotated[Bound, about("How the figure bounds the true one.")]
    minimum_metres: Annotated[
        float | None, about("Lowest visibility of a direction.", unit="m")
    ] = None
    minimum_direction: Annotated[str | None, about("That direction.")] = None
    no_directional_variation: Annotated[
        bool, about("The station cannot tell directions apart.")
    ] = False
    unit_reported: Annotated[LengthUnit, about("Unit of the report.")]
    raw: Annotated[str, about("The groups it was read from.")]

    @property
    def worst_metres(self) -> float | None:
        """The lower of prevailing and minimum visibility; None if neither is known."""
        known = [m for m in (self.metres, self.minimum_metres) if m is not None]
        return min(known, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunwayVisualRange:
    """RVR of one runway; `high_*` only where a variation is reported; None: reported missing."""

    runway: Annotated[str, about("Designator.")]
    low_m: Annotated[
        float | None,
        about("The range, or the lower end of a varying one; null: missing.", unit="m"),
    ]
    low_bound: Annotated[Bound, about("How it bounds the true one.")]
    high_m: Annotated[
        float | None, about("Upper end, where a variation is reported.", unit="m")
    ] = None
    high_bound: Annotated[Bound | None, about("How it bounds the true one.")] = None
    tendency: Annotated[Tendency | None, about("Up, down or no change.")] = None
    unit_reported: Annotated[LengthUnit, about("Unit of the report.")]
    raw: Annotated[str, about("The groups it was read from.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherGroup:
    """One weather group, present or recent: intensity, descriptors, phenomena."""

    intensity: Annotated[Intensity, about("Light, moderate, heavy or in the vicinity.")]
    descriptors: Annotated[tuple[str, ...], about("Codes of the descriptors, as TS or FZ.")]
    phenomena: Annotated[tuple[str, ...], about("Codes of the phenomena, as RA or FG.")]
    raw: Annotated[str, about("The groups it was read from.")]

    @property
    def thunderstorm(self) -> bool:
        """A thunderstorm at the aerodrome or in its vicinity."""
        return "TS" in self.descriptors

    @property
    def freezing_precipitation(self) -> bool:
        """Freezing rain, drizzle or precipitation of unknown kind (not freezing fog)."""
        return "FZ" in self.descriptors and self.phenomena != ("FG",)


@dataclass(frozen=True, slots=True, kw_only=True)
class CloudLayer:
    """One layer; None: reported missing (`BKN///`, `///015`, `VV///`).

    `type_unknown`: an automatic station that cannot tell convective cloud (`BKN038///`).
    """

    amount: Annotated[CloudAmount | None, about("Amount; null: missing.")]
    base_ft: Annotated[float | None, about("Base above the aerodrome; null: missing.", unit="ft")]
    convective: Annotated[Convective | None, about("Convective cloud.")] = None
    type_unknown: Annotated[bool, about("The station cannot tell convective cloud.")] = False
    raw: Annotated[str, about("The groups it was read from.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """Base of the lowest BKN or OVC layer, or vertical visibility; `raw` is the deciding group.

    NONE means that the report excludes a ceiling (no such layer, NSC, NCD, CLR, SKC, CAVOK):
    none below the limit that the clear-sky word has, not an unlimited sky.
    """

    state: Annotated[CeilingState, about("A height, none, or not known.")]
    feet: Annotated[float | None, about("Above the aerodrome.", unit="ft")]
    raw: Annotated[str, about("The group that decides.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Temperature:
    """Air temperature and dew point in whole degrees as in the body; None: missing."""

    temperature_degc: float | None
    dewpoint_degc: float | None
    raw: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure:
    """QNH; None: missing, out of any sane range, or hPa and inHg that contradict each other."""

    qnh_hpa: float | None
    unit_reported: PressureUnit
    raw: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WindShear:
    """Low-level wind shear.

    Observed: `runway` is a designator, or None for all runways. Forecast: height and wind there.
    """

    runway: Annotated[str | None, about("Designator; null: all runways, or forecast.")] = None
    height_ft: Annotated[float | None, about("Height of a forecast shear.", unit="ft")] = None
    from_true_deg: Annotated[
        float | None, about("True direction of the wind there.", unit="degrees")
    ] = None
    speed_kt: Annotated[float | None, about("Speed of the wind there.", unit="kt")] = None
    raw: Annotated[str, about("The groups it was read from.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunwayState:
    """Runway state group, both forms, code tables 0919, 0519, 1079, 0366 [WMO-306].

    `runway` None: all runways. `repeated` (runway 99): the last group again, no news arrived.
    `extent_percent` is the upper end of the coded band. `depth_at_least`: 40 cm or more.
    `cleared`: contamination has ceased. `closed`: snow (SNOCLO) or runway not operational.
    """

    runway: Annotated[str | None, about("Designator; null: all runways.")]
    repeated: Annotated[bool, about("The last group again, no news arrived.")] = False
    deposit: Annotated[Deposit | None, about("What lies on it.")] = None
    extent_percent: Annotated[
        float | None, about("Upper end of the coded band.", unit="percent")
    ] = None
    depth_mm: Annotated[float | None, about("Depth of the deposit.", unit="mm")] = None
    depth_at_least: Annotated[bool, about("The depth is so much or more.")] = False
    friction_coefficient: Annotated[float | None, about("Measured friction.")] = None
    braking_action: Annotated[BrakingAction | None, about("Estimated braking action.")] = None
    cleared: Annotated[bool, about("Contamination has ceased.")] = False
    closed: Annotated[bool, about("Closed by snow, or not operational.")] = False
    raw: Annotated[str, about("The groups it was read from.")]


class RemarkKind(StrEnum):
    """Remarks that can matter to a decision [FAA-AIM] 7-1-29."""

    VARIABLE_CEILING = "variable_ceiling"
    VARIABLE_SKY = "variable_sky"
    CEILING_AT = "ceiling_at"
    TOWER_VISIBILITY = "tower_visibility"
    SURFACE_VISIBILITY = "surface_visibility"
    VARIABLE_VISIBILITY = "variable_visibility"
    SECTOR_VISIBILITY = "sector_visibility"
    SENSOR_STATUS = "sensor_status"
    PEAK_WIND = "peak_wind"
    WIND_SHIFT = "wind_shift"
    PRECISE_TEMPERATURE = "precise_temperature"
    LIGHTNING = "lightning"
    THUNDERSTORM = "thunderstorm"
    FUNNEL_CLOUD = "funnel_cloud"
    MICROBURST = "microburst"
    MAINTENANCE = "maintenance"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """One remark; only the figures that its kind has are set.

    low/high: ft for ceilings, m for visibilities; `from_true_deg`, `speed_kt`, `at` for winds;
    `where` is a direction, a runway or the name of a sensor; `amounts` of a variable sky.
    """

    kind: Annotated[RemarkKind, about("What it is about.")]
    low_ft: Annotated[float | None, about("Lower ceiling.", unit="ft")] = None
    high_ft: Annotated[float | None, about("Higher ceiling.", unit="ft")] = None
    low_m: Annotated[float | None, about("Lower visibility.", unit="m")] = None
    high_m: Annotated[float | None, about("Higher visibility.", unit="m")] = None
    amounts: Annotated[
        tuple[CloudAmount, CloudAmount] | None, about("Two amounts of a variable sky.")
    ] = None
    from_true_deg: Annotated[float | None, about("True direction of a wind.", unit="degrees")] = (
        None
    )
    speed_kt: Annotated[float | None, about("Speed of a wind.", unit="kt")] = None
    at: Annotated[Instant | None, about("When.")] = None
    temperature_degc: Annotated[
        float | None, about("Precise temperature.", unit="degrees Celsius")
    ] = None
    dewpoint_degc: Annotated[float | None, about("Precise dew point.", unit="degrees Celsius")] = (
        None
    )
    where: Annotated[str | None, about("A direction, a runway or the name of a sensor.")] = None
    raw: Annotated[str, about("The groups it was read from.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Elements:
    """The elements of an observation, or those that a forecast or trend group names.

    Observations and the prevailing groups of a forecast (BASE, FM) always have wind, visibility,
    ceiling, weather and clouds (unknown ones too); in other groups None means that the element is
    not named. `weather` () is "no significant weather", `clouds` () no cloud of significance. What
    is in `unknown` is missing or cannot be relied on, even where part of it was read. `set_aside`:
    groups read but not used (colour and sea states, icing and turbulence figures).
    """

    wind: Wind | None = None
    visibility: Visibility | None = None
    ceiling: Ceiling | None = None
    clouds: tuple[CloudLayer, ...] | None = None
    rvr: tuple[RunwayVisualRange, ...] = ()
    weather: tuple[WeatherGroup, ...] | None = None
    recent: tuple[WeatherGroup, ...] = ()
    temperature: Temperature | None = None
    pressure: Pressure | None = None
    cavok: bool = False
    runway_state: tuple[RunwayState, ...] = ()
    wind_shear: tuple[WindShear, ...] = ()
    remarks: tuple[Remark, ...] = ()
    set_aside: tuple[str, ...] = ()
    unknown: frozenset[Element] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """One group of a forecast or of a trend, with the time it speaks of.

    BASE and FM run to the next FM or the end of validity. A BECMG with AT has start = end.
    `start_at` None: the time group could not be read (then `unread` has it). With anything in
    `unread` the weather of the whole span is unknown.
    """

    kind: PeriodKind
    probability: int | None = None
    start_at: datetime | None
    end_at: datetime | None
    elements: Elements
    unread: tuple[str, ...] = ()
    raw: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureExtreme:
    """Forecast maximum (TX) or minimum (TN) temperature; None where the text does not tell."""

    maximum: Annotated[bool | None, about("Maximum or minimum; null: the text does not tell.")]
    temperature_degc: Annotated[float, about("The temperature.", unit="degrees Celsius")]
    at: Annotated[Instant | None, about("When; null: the text does not tell.")]
    raw: Annotated[str, about("The groups it was read from.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A decoded report: METAR and SPECI have `elements` and `trend`, TAF has `periods`.

    `nil` and `cancelled` mean no data: elements None, no periods. `valid` None in a TAF: no
    readable validity. `unread`: every group that could not be read, in order, those of periods
    included. `nosig`: the trend says "no significant change".
    """

    raw: str
    kind: ReportKind
    station: str
    issued_at: datetime
    auto: bool = False
    corrected: bool = False
    amended: bool = False
    nil: bool = False
    cancelled: bool = False
    amendments_not_scheduled: bool = False
    valid: Window | None = None
    elements: Elements | None = None
    periods: tuple[Period, ...] = ()
    trend: tuple[Period, ...] = ()
    nosig: bool = False
    extremes: tuple[TemperatureExtreme, ...] = ()
    unread: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
