"""Courses, attempts and findings as they are published."""

from __future__ import annotations

from typing import Annotated, Final

from msgspec import Struct, field

from decision.attempt.attempt import Role
from decision.course import CourseKind
from decision.fields import Instant, about
from decision.flight.ways import Origin
from decision.performance import Step
from decision.quantities import Bound
from decision.rules.finding import Outcome, Sense
from decision.weather.report import CeilingState
from decision.windows import Window

EVERYTHING: Final = frozenset({"findings", "steps"})
"""What is included in the whole answer, whether it was asked for or not."""

MOST_FINDINGS: Final = 2_000
"""So many an answer holds; all of a recorded one can be read by pages."""


class RuleTold(Struct, frozen=True, kw_only=True, gc=False):
    """A rule that the answer names."""

    title: Annotated[str, about("What it is about.")]
    citation: Annotated[str, about("Its source, with how sure its wording is.")]


class Compared(Struct, frozen=True, kw_only=True, gc=False):
    """What a rule compared at a place."""

    rule: Annotated[str, about("Code of the rule; `rules` has its title and citation.")]
    at: Annotated[str, about("Aerodrome that it is of.")]
    value: Annotated[float | None, about("What was compared, in `unit`.")]
    limit: Annotated[float | None, about("What it was compared with, in `unit`.")]
    sense: Annotated[Sense | None, about("Which side of the limit is good.")]
    margin: Annotated[float | None, about("Room to the limit, in `unit`; negative is broken.")]
    unit: Annotated[str | None, about("Unit of the three figures; null where there is none.")]


class FindingTold(Compared, frozen=True, kw_only=True, gc=False):
    """What a rule that applies says of an attempt or of a course."""

    subject: Annotated[str, about("Id of an attempt, or label of a course.")]
    outcome: Annotated[Outcome, about("What the rule says; UNKNOWN never counts as PASS.")]
    text: Annotated[str, about("The sentence, built from the figures.")]


class Reason(Compared, frozen=True, kw_only=True, gc=False):
    """A finding that decides."""

    citation: Annotated[str, about("Its source, with how sure its wording is.")]
    outcome: Annotated[Outcome, about("What the rule says; UNKNOWN never counts as PASS.")]
    text: Annotated[str, about("The sentence, built from the figures.")]
    course: Annotated[str, about("Label of the course that it is of.")]


class Tight(Struct, frozen=True, kw_only=True, gc=False):
    """A rule that a course meets with little room."""

    rule: Annotated[str, about("Code of the rule; `rules` has its title and citation.")]
    at: Annotated[str, about("Aerodrome that it is of.", examples=["XKAL"])]
    value: Annotated[float, about("What was compared, in `unit`.", examples=[2250.0])]
    limit: Annotated[float, about("What it was compared with, in `unit`.", examples=[2450.0])]
    margin: Annotated[float, about("Room to the limit, in `unit`.", examples=[200.0])]
    unit: Annotated[str, about("Unit of the three figures.", examples=["m"])]


class Open(Struct, frozen=True, kw_only=True, gc=False):
    """A rule of which it is not known whether a course meets it."""

    rule: Annotated[str, about("Code of the rule; `rules` has its title and citation.")]
    at: Annotated[str, about("Aerodrome that it is of.")]


class Break(Struct, frozen=True, kw_only=True, gc=False):
    """A binding rule that a course breaks."""

    rule: Annotated[str, about("Code of the rule; `rules` has its title and citation.")]
    at: Annotated[str, about("Aerodrome where it is broken.")]
    text: Annotated[str, about("What is broken, its value and its limit, in short.")]
    breach: Annotated[str, about("Kind of the breach; the kinds have an order, the worst first.")]
    endangers: Annotated[
        bool, about("Whether people are in danger, and not only a rule or a margin.")
    ]


class GoverningCeiling(Struct, frozen=True, kw_only=True, gc=False):
    """The ceiling that governs."""

    state: Annotated[CeilingState, about("A height, none, or not known.")]
    feet: Annotated[float | None, about("Above the aerodrome.", unit="ft")]
    kind: Annotated[str, about("Kind of the report or group that governs; NONE: nobody speaks.")]
    text: Annotated[str, about("Its words.")]
    why: Annotated[str, about("Why it governs.")]


class GoverningVisibility(Struct, frozen=True, kw_only=True, gc=False):
    """The visibility that governs."""

    metres: Annotated[float | None, about("Visibility.", unit="m")]
    bound: Annotated[Bound, about("How the figure bounds the true one.")]
    kind: Annotated[str, about("Kind of the report or group that governs; NONE: nobody speaks.")]
    text: Annotated[str, about("Its words.")]
    why: Annotated[str, about("Why it governs.")]


class GoverningWind(Struct, frozen=True, kw_only=True, gc=False):
    """The wind that governs."""

    from_true_deg: Annotated[
        float | None, about("True direction; null: variable or not known.", unit="degrees")
    ]
    speed_kt: Annotated[float | None, about("Mean speed.", unit="kt")]
    gust_kt: Annotated[float | None, about("Gust.", unit="kt")]
    kind: Annotated[str, about("Kind of the report or group that governs; NONE: nobody speaks.")]
    text: Annotated[str, about("Its words.")]
    why: Annotated[str, about("Why it governs.")]


class SetAsideWords(Struct, frozen=True, kw_only=True, gc=False):
    """Words of a report that stand without effect."""

    text: Annotated[str, about("The words.")]
    why: Annotated[str, about("Why they have none.")]


class GoverningWeather(Struct, frozen=True, kw_only=True, gc=False):
    """What governs over the window, element by element, and which words say so."""

    ceiling: Annotated[GoverningCeiling, about("The lowest ceiling.")]
    visibility: Annotated[GoverningVisibility, about("The lowest visibility.")]
    wind: Annotated[GoverningWind, about("The strongest wind.")]
    weather: Annotated[tuple[str, ...], about("Weather groups as reported.")]
    disregarded: Annotated[tuple[SetAsideWords, ...], about("Groups that the rulebook disregards.")]


class ObstaclePassed(Struct, frozen=True, kw_only=True, gc=False):
    """An obstacle under the missed approach."""

    distance_nm: Annotated[float, about("From the start of the climb.", unit="NM")]
    elevation_ft: Annotated[float, about("Of its top, above the sea.", unit="ft")]
    altitude_ft: Annotated[float, about("At which it is passed.", unit="ft")]
    above_ft: Annotated[float, about("How far above its top; negative below it.", unit="ft")]


class ForetoldVisibility(Struct, frozen=True, kw_only=True, gc=False):
    """What a group of a trend or forecast says of the visibility, for a part of the window."""

    start: Annotated[Instant, about("From when.")]
    end: Annotated[Instant, about("Until when.")]
    metres: Annotated[float | None, about("The visibility.", unit="m")]
    bound: Annotated[Bound, about("How the figure bounds the true one.")]
    kind: Annotated[str, about("Kind of the group.")]
    text: Annotated[str, about("Its words.")]


class CeilingByTime(Struct, frozen=True, kw_only=True, gc=False):
    """What a group of a trend or forecast says of the ceiling, for a part of its time."""

    start: Annotated[Instant, about("From when.")]
    end: Annotated[Instant, about("Until when.")]
    state: Annotated[CeilingState, about("A height, none, or not known.")]
    feet: Annotated[float | None, about("The ceiling.", unit="ft")]
    kind: Annotated[str, about("Kind of the group.")]
    text: Annotated[str, about("Its words.")]


class AttemptTold(Struct, frozen=True, kw_only=True, gc=False):
    """One approach at one place at one time."""

    aerodrome: Annotated[str, about("Where.")]
    role: Annotated[
        Role,
        about("What it is for: to be missed, to land after a diversion, to land without one."),
    ]
    approach: Annotated[str | None, about("Procedure; null without one that can be flown.")]
    runway: Annotated[str | None, about("Designator; null without a runway.")]
    at: Annotated[Instant, about("When it is flown.")]
    window: Annotated[Window, about("Time over which its weather is judged.")]
    flap: Annotated[str, about("Detent of the landing.")]
    approach_speed_kt: Annotated[float, about("Indicated airspeed of the approach.", unit="kt")]
    category: Annotated[str | None, about("Approach category.")]
    mass_kg: Annotated[float, about("Mass at that time.", unit="kg")]
    landing_distance_m: Annotated[
        float | None, about("Landing distance without factor; null when not known.", unit="m")
    ]
    lda_m: Annotated[float | None, about("Landing distance available.", unit="m")]
    condition_code: Annotated[int | None, about("Runway condition code, 0 to 6.")]
    crosswind_kt: Annotated[
        float | None, about("Largest of the window, with its gust where that counts.", unit="kt")
    ]
    headwind_kt: Annotated[
        float | None,
        about("Smallest of the window, without gusts; negative is a tailwind.", unit="kt"),
    ]
    tailwind_kt: Annotated[
        float | None, about("Largest of the window, with its gust where that counts.", unit="kt")
    ]
    missed_gradient_percent: Annotated[
        float | None, about("Climb gradient of the missed approach over ground.", unit="percent")
    ]
    unknown: Annotated[tuple[str, ...], about("What is not known of it.")]
    landing_factor: Annotated[float | None, about("Factor of the landing distance.")]
    factored_distance_m: Annotated[
        float | None, about("Landing distance with that factor.", unit="m")
    ]
    published_gradient_percent: Annotated[
        float | None, about("Climb gradient that the procedure asks for.", unit="percent")
    ]
    minima: Annotated[
        tuple[Compared, ...], about("Ceiling and visibility beside the minima that count here.")
    ]
    wind_limits: Annotated[tuple[Compared, ...], about("Wind on the runway beside its limits.")]
    obstacles: Annotated[tuple[ObstaclePassed, ...], about("Obstacles under the missed approach.")]
    weather: Annotated[GoverningWeather, about("What governs in the window, and whose words.")]
    by_time: Annotated[
        tuple[ForetoldVisibility, ...], about("What each forecast group says of the visibility.")
    ]
    notices: Annotated[
        tuple[str, ...],
        about("Ids of the notices in force in the window.", examples=[["A0123/26"]]),
    ] = ()


class CourseFuel(Struct, frozen=True, kw_only=True, gc=False):
    """Fuel of a course, counted from one point."""

    at_most: Annotated[bool, about("Fuel is lost that is not known: figures are at most.")]
    at_missed_approach_kg: Annotated[
        float | None, about("Usable fuel at the minimum of a missed approach.", unit="kg")
    ]
    required_kg: Annotated[
        float, about("Flight and final reserve, from `required_from` on.", unit="kg")
    ]
    required_from: Annotated[Origin, about("Where `required_kg` counts from.")]
    required_now_kg: Annotated[
        float, about("Needed on board now to land on final reserve.", unit="kg")
    ]
    landing_kg: Annotated[float, about("Usable fuel on landing.", unit="kg")]
    landing_min: Annotated[float | None, about("The same as minutes of holding there.", unit="min")]
    final_reserve_kg: Annotated[float, about("The reserve that governs.", unit="kg")]
    margin_kg: Annotated[
        float, about("Above final reserve on landing; negative is under it.", unit="kg")
    ]
    margin_p95_kg: Annotated[
        float | None,
        about("The margin if the flight needs as much as 19 flights of 20 do.", unit="kg"),
    ]


class CourseTime(Struct, frozen=True, kw_only=True, gc=False):
    """Moments of a course."""

    arrive_at: Annotated[Instant | None, about("When it lands; null when it is not flown.")]
    hold_min: Annotated[float, about("Holding before the approach.", unit="min")]


class AfterMissThereTold(Struct, frozen=True, kw_only=True, gc=False):
    """What a missed approach at the end of a diversion would leave."""

    endurance_min: Annotated[float, about("Holding to empty tanks.", unit="min")]
    next_aerodrome: Annotated[str | None, about("The next place in reach with final reserve.")]
    margin_kg: Annotated[float | None, about("Above final reserve there.", unit="kg")]
    distance_unknown: Annotated[
        tuple[str, ...], about("Places whose distance from there is not known.")
    ]
    missed_gradient_percent: Annotated[
        float | None, about("Climb gradient of the missed approach there.", unit="percent")
    ]
    published_gradient_percent: Annotated[
        float | None, about("What the procedure there asks for.", unit="percent")
    ]


class CourseFlight(Struct, frozen=True, kw_only=True, gc=False):
    """How a course is flown, and its ledger of fuel; told with findings and with steps."""

    attempts: Annotated[tuple[str, ...], about("Ids of its approaches, as they are flown.")]
    limited_by: Annotated[str | None, about("The limit by which it cannot be flown.")]
    unknown: Annotated[
        tuple[str, ...],
        about("What is not known of its way or its fuel: its figures are at most."),
    ]
    rests_on: Annotated[
        str, about("The group of a report that a hold waits for; empty without one.")
    ]
    emergency_basis: Annotated[
        str | None,
        about("Citation of the pilot's emergency authority; null unless it is illegal."),
    ]
    cruise_pressure_altitude_ft: Annotated[float | None, about("Cruise level.", unit="ft")]
    cruise_cas_kt: Annotated[float | None, about("Calibrated airspeed of the cruise.", unit="kt")]
    missed_approach_at: Annotated[Instant | None, about("When the approach here is missed.")]
    counted_from_kg: Annotated[
        float | None, about("Usable fuel where `required_kg` counts from.", unit="kg")
    ]
    flight_kg: Annotated[float | None, about("Fuel burnt from there to the landing.", unit="kg")]
    planned_final_reserve_kg: Annotated[float | None, about("The legal limit.", unit="kg")]
    configured_final_reserve_kg: Annotated[
        float | None, about("Half an hour in the configuration on arrival: policy.", unit="kg")
    ]
    after_miss_there: Annotated[
        AfterMissThereTold | None,
        about("What a missed approach at its end would leave; null where not worked out."),
    ]


class CourseTold(Struct, frozen=True, kw_only=True, gc=False):
    """A whole way to a landing."""

    course: Annotated[str, about("Label, unique in the answer.")]
    kind: Annotated[CourseKind, about("Kind of course.")]
    from_: Annotated[Origin, about("Where the flight of this course turns away.")] = field(
        name="from"
    )
    aerodrome: Annotated[str, about("Where it ends.")]
    runway: Annotated[str | None, about("Runway of the landing.")]
    legal: Annotated[bool | None, about("Null when something is not known and nothing is broken.")]
    advised_against: Annotated[
        bool, about("Whether guidance, which does not bind, speaks against it.")
    ]
    breaks: Annotated[tuple[Break, ...], about("The binding rules that it breaks, worst first.")]
    open: Annotated[tuple[Open, ...], about("The rules of which it is not known.")]
    tightest: Annotated[
        tuple[Tight, ...],
        about("Up to three rules that it meets with least room; empty where it breaks one."),
    ]
    touchdown_at: Annotated[Instant | None, about("When it lands; null when it is not flown.")]
    minutes_to_touchdown: Annotated[float | None, about("From `as_of` to the landing.", unit="min")]
    rank: Annotated[int, about("1 is the best.")]
    configuration: Annotated[
        str, about("Of the flight after the approach, or of the way to the landing.")
    ]
    fuel: Annotated[CourseFuel | None, about("Null when the fuel could not be worked out.")]
    time: Annotated[CourseTime, about("Moments of it.")]
    flight: Annotated[CourseFlight | None, about("How it is flown; null unless included.")]
    steps: Annotated[tuple[Step, ...] | None, about("Stretches flown; null unless included.")]
