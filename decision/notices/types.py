"""A notice as it is given, and as it is read: what it is of, what it does, and when.

A notice is written down by its members or as the text of a NOTAM or SNOWTAM; both become the same
`ReadNotice`. What of a text cannot be read is listed in it and never taken for good news.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from enum import StrEnum
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import Instant, about, sized
from decision.quantities import ICAO, IDENT, RUNWAY_IDENT
from decision.weather.runway import Contaminant
from decision.windows import Window

MAX_NOTICES: Final = 500
MAX_NOTICE_LENGTH: Final = 4000
CONDITION_HOLDS: Final = timedelta(hours=8)  # [PANS-AIM] greatest validity of a SNOWTAM

NOTICE_TEXT: Final = sized(
    "the text of a NOTAM or SNOWTAM", shortest=1, longest=MAX_NOTICE_LENGTH, pattern=r"[\s\S]*"
)


class NoticeSubject(StrEnum):
    """What a notice is about, of what matters to an approach and landing."""

    AERODROME = "aerodrome"
    RUNWAY = "runway"
    DECLARED_DISTANCES = "declared_distances"
    RESCUE = "rescue"
    ILS = "ils"
    LOCALIZER = "localizer"
    GLIDE_PATH = "glide_path"
    ILS_DME = "ils_dme"
    DME = "dme"
    VOR = "vor"
    NDB = "ndb"
    OUTER_MARKER = "outer_marker"
    MIDDLE_MARKER = "middle_marker"
    APPROACH_LIGHTS = "approach_lights"
    EDGE_LIGHTS = "edge_lights"
    CENTRELINE_LIGHTS = "centreline_lights"
    TOUCHDOWN_ZONE_LIGHTS = "touchdown_zone_lights"
    ALL_LIGHTS = "all_lights"
    RVR_SYSTEM = "rvr_system"
    TAXIWAY_LIGHTS = "taxiway_lights"
    RUNWAY_CONDITION = "runway_condition"
    NO_MATTER = "no_matter"


class NoticeEffect(StrEnum):
    """What a notice does to its subject."""

    CLOSED = "closed"
    UNSERVICEABLE = "unserviceable"
    DOWNGRADED = "downgraded"
    CHANGED = "changed"
    NONE = "none"
    UNKNOWN = "unknown"


class NoticeKind(StrEnum):
    """How a notice was given."""

    NOTAM = "NOTAM"
    SNOWTAM = "SNOWTAM"
    STRUCTURED = "structured"
    UNREADABLE = "unreadable"


class NoticeAction(StrEnum):
    """What a NOTAM does to others."""

    NEW = "new"
    REPLACES = "replaces"
    CANCELS = "cancels"


class Notice(Struct, frozen=True, kw_only=True, gc=False):
    """A notice: its text, or its members and then no text."""

    raw: Annotated[
        Annotated[str, NOTICE_TEXT] | None,
        about("Text of a NOTAM or SNOWTAM; with it nothing else is given."),
    ] = None
    id: Annotated[IDENT | None, about("Its number, such as A0123/26; absent: its place here.")] = (
        None
    )
    place: Annotated[ICAO | None, about("Aerodrome.")] = None
    subject: Annotated[NoticeSubject | None, about("What it is about.")] = None
    effect: Annotated[NoticeEffect | None, about("What it does to that.")] = None
    runway: Annotated[
        RUNWAY_IDENT | None, about("Runway, where it is of one; absent: every runway there.")
    ] = None
    from_at: Annotated[datetime | None, about("In force from.")] = None
    until_at: Annotated[
        datetime | None, about("In force until, not included; absent: no end is known.")
    ] = None
    until_estimated: Annotated[
        bool | None, about("The end is estimated (EST): it counts as not ended.")
    ] = None
    category: Annotated[
        int | None, about("Rescue and fire fighting category that is left.", low=0, high=10)
    ] = None
    lda_m: Annotated[
        float | None, about("Landing distance available then.", low=0, high=6000, unit="m")
    ] = None


class NoticeItem(Struct, frozen=True, kw_only=True, gc=False):
    """A part of a text, as it stands in it."""

    item: Annotated[str, about("Letter of the item, or what the part is.")]
    raw: Annotated[str, about("Its words.")]
    read: Annotated[bool, about("Whether all of it was read.")]
    means: Annotated[str | None, about("What was read; null: nothing.")] = None


class DistanceLeft(Struct, frozen=True, kw_only=True, gc=False):
    """A landing distance that a notice declares."""

    runway: Annotated[str, about("Designator.")]
    lda_m: Annotated[float, about("Landing distance available.", unit="m")]


class ConditionOfThird(Struct, frozen=True, kw_only=True, gc=False):
    """A third of a runway in a condition report; null: not reported or not read."""

    code: Annotated[int | None, about("Runway condition code, 0 to 6.", examples=[5])]
    coverage_percent: Annotated[int | None, about("Covered part.", unit="percent", examples=[100])]
    depth_mm: Annotated[float | None, about("Depth of what is loose.", unit="mm", examples=[6])]
    surface: Annotated[
        str | None, about("Condition in the words of the report.", examples=["SLUSH"])
    ]
    contaminant: Annotated[Contaminant | None, about("The same as the case has it.")]


class RunwayReport(Struct, frozen=True, kw_only=True, gc=False):
    """A runway in a condition report. `thirds`: from the threshold of the lower designator."""

    runway: Annotated[str, about("The lower designator of the strip.")]
    assessed_at: Annotated[Instant, about("When it was assessed; it holds for eight hours.")]
    thirds: Annotated[
        tuple[ConditionOfThird, ConditionOfThird, ConditionOfThird],
        about("From the threshold of the lower designator."),
    ]
    width_m: Annotated[float | None, about("Width that the codes apply to.", unit="m")] = None
    reduced_length_m: Annotated[float | None, about("Length that is left.", unit="m")] = None

    def holds(self, window: Window) -> bool:
        """Whether the report is in force for all of a window."""
        until_at = self.assessed_at + CONDITION_HOLDS
        return self.assessed_at <= window.start_at and window.end_at <= until_at


class ReadNotice(Struct, frozen=True, kw_only=True, gc=False):
    """A notice as it is read. `places` empty: not known, it may be of any.

    `runways` empty: every one of the place, or none is named. `until_at` counts as an end only
    where `estimated` is not set. `unread`: what could not be read, in order; none of it is ever
    taken for good news.
    """

    id: Annotated[str, about("Its number, or where it stands among the notices.")]
    kind: Annotated[NoticeKind, about("How it was given.")]
    action: Annotated[NoticeAction, about("What it does to other notices.")] = NoticeAction.NEW
    refers_to: Annotated[str | None, about("The notice that it replaces or cancels.")] = None
    places: Annotated[tuple[str, ...], about("Location indicators; empty: not read.")] = ()
    subject: Annotated[NoticeSubject | None, about("What it is about; null: not read.")] = None
    effect: Annotated[NoticeEffect, about("What it does.")] = NoticeEffect.UNKNOWN
    runways: Annotated[tuple[str, ...], about("Designators named; empty: none.")] = ()
    from_at: Annotated[Instant | None, about("In force from; null: not read, always.")] = None
    until_at: Annotated[Instant | None, about("In force until; null: no end is known.")] = None
    estimated: Annotated[bool, about("The end is estimated: it counts as not ended.")] = False
    permanent: Annotated[bool, about("It has no end.")] = False
    schedule: Annotated[
        str | None, about("Hours within that time, not read: taken as in force all day.")
    ] = None
    category: Annotated[int | None, about("Rescue category left; null: none said.")] = None
    distances: Annotated[tuple[DistanceLeft, ...], about("Landing distances declared.")] = ()
    conditions: Annotated[tuple[RunwayReport, ...], about("Runways of a condition report.")] = ()
    unread_runways: Annotated[
        tuple[str, ...],
        about("Runways of a condition report that could not be read; empty text: any."),
    ] = ()
    text: Annotated[str, about("Its own words; empty: none.")] = ""
    items: Annotated[tuple[NoticeItem, ...], about("The text, part by part.")] = ()
    unread: Annotated[tuple[str, ...], about("Parts that could not be read, in order.")] = ()
    problems: Annotated[tuple[str, ...], about("What is wrong with it.")] = ()
    raw: Annotated[str, about("The text; empty: it was given by its members.")] = ""

    @property
    def wholly_read(self) -> bool:
        """Whether nothing of it is open."""
        return not self.unread and not self.problems

    @property
    def ends_at(self) -> datetime | None:
        """The end where it is certain."""
        return None if self.estimated or self.permanent else self.until_at

    def in_force(self, window: Window) -> bool:
        """Whether it may be in force at any moment of a window; an unknown end does not end."""
        begun = self.from_at is None or self.from_at < window.end_at
        return begun and (self.ends_at is None or self.ends_at > window.start_at)
