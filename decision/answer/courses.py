"""Courses, attempts and findings as they are published."""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct, field

from decision.attempt.attempt import Role
from decision.course import CourseKind
from decision.fields import Instant, about
from decision.flight.ways import Origin
from decision.performance import Step
from decision.rules.finding import Outcome, Sense
from decision.windows import Window


class Finding(Struct, frozen=True, kw_only=True, gc=False):
    """What a rule says of a course."""

    rule: Annotated[str, about("Code of the rule.")]
    title: Annotated[str, about("What the rule is about.")]
    at: Annotated[str | None, about("Aerodrome; null where it is of no single place.")]
    outcome: Annotated[Outcome, about("What the rule says; UNKNOWN never counts as PASS.")]
    text: Annotated[str, about("The sentence, built from the figures.")]
    value: Annotated[float | None, about("What was compared, in `unit`.")]
    limit: Annotated[float | None, about("What it was compared with, in `unit`.")]
    sense: Annotated[Sense | None, about("Which side of the limit is good.")]
    margin: Annotated[float | None, about("Room to the limit, in `unit`; negative is broken.")]
    unit: Annotated[str | None, about("Unit of the three figures; null where there is none.")]
    citation: Annotated[str, about("Source of the rule, with how sure its wording is.")]


class Reason(Finding, frozen=True, kw_only=True, gc=False):
    """A finding that decides."""

    course: Annotated[str, about("Label of the course that it is of.")]


class Break(Struct, frozen=True, kw_only=True, gc=False):
    """A binding rule that a course breaks."""

    rule: Annotated[str, about("Code of the rule.")]
    at: Annotated[str | None, about("Aerodrome where it is broken.")]
    text: Annotated[str, about("What is broken, its value and its limit, in short.")]
    breach: Annotated[str, about("Kind of the breach; the kinds have an order, the worst first.")]
    endangers: Annotated[
        bool, about("Whether people are in danger, and not only a rule or a margin.")
    ]


class Attempt(Struct, frozen=True, kw_only=True, gc=False):
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


class CourseFuel(Struct, frozen=True, kw_only=True, gc=False):
    """Fuel of a course, counted from one point."""

    at_most: Annotated[bool, about("Fuel is lost that is not known: figures are at most.")]
    at_missed_approach_kg: Annotated[
        float | None, about("Usable fuel at the minimum of a missed approach.", unit="kg")
    ]
    counted_from_kg: Annotated[float, about("Usable fuel where the ledger counts from.", unit="kg")]
    flight_kg: Annotated[float, about("Fuel burnt from there to the landing.", unit="kg")]
    required_kg: Annotated[
        float, about("Flight and final reserve from where the ledger counts.", unit="kg")
    ]
    required_from: Annotated[Origin, about("Where `required_kg` and `flight_kg` count from.")]
    required_now_kg: Annotated[
        float, about("Needed on board now to land on final reserve.", unit="kg")
    ]
    landing_kg: Annotated[float, about("Usable fuel on landing.", unit="kg")]
    landing_min: Annotated[float | None, about("The same as minutes of holding there.", unit="min")]
    final_reserve_kg: Annotated[float, about("The greater of the next two: it governs.", unit="kg")]
    planned_final_reserve_kg: Annotated[float, about("The legal limit.", unit="kg")]
    configured_final_reserve_kg: Annotated[
        float, about("Half an hour in the configuration on arrival: policy.", unit="kg")
    ]
    margin_kg: Annotated[
        float, about("Above final reserve on landing; negative is under it.", unit="kg")
    ]
    margin_p95_kg: Annotated[
        float | None,
        about("The margin if the flight needs as much as 19 flights of 20 do.", unit="kg"),
    ]


class CourseTime(Struct, frozen=True, kw_only=True, gc=False):
    """Moments of a course."""

    missed_approach_at: Annotated[Instant | None, about("When the approach here is missed.")]
    arrive_at: Annotated[Instant | None, about("When it lands; null when it is not flown.")]
    hold_min: Annotated[float, about("Holding before the approach.", unit="min")]


class AfterMissThere(Struct, frozen=True, kw_only=True, gc=False):
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


class Course(Struct, frozen=True, kw_only=True, gc=False):
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
    breaks: Annotated[tuple[Break, ...], about("The binding rules that it breaks.")]
    touchdown_at: Annotated[Instant | None, about("When it lands; null when it is not flown.")]
    minutes_to_touchdown: Annotated[float | None, about("From `as_of` to the landing.", unit="min")]
    rank: Annotated[int, about("1 is the best.")]
    limited_by: Annotated[str | None, about("The limit by which it cannot be flown.")]
    emergency_basis: Annotated[
        str | None,
        about("Citation of the pilot's emergency authority; null unless it is illegal."),
    ]
    unknown: Annotated[
        tuple[str, ...],
        about("What is not known of its way or its fuel: its figures are at most."),
    ]
    rests_on: Annotated[
        str, about("The group of a report that a hold waits for; empty without one.")
    ]
    configuration: Annotated[
        str, about("Of the flight after the approach, or of the way to the landing.")
    ]
    cruise_pressure_altitude_ft: Annotated[float | None, about("Cruise level.", unit="ft")]
    cruise_cas_kt: Annotated[float | None, about("Calibrated airspeed of the cruise.", unit="kt")]
    fuel: Annotated[CourseFuel | None, about("Null when the fuel could not be worked out.")]
    time: Annotated[CourseTime, about("Moments of it.")]
    attempts: Annotated[
        tuple[Attempt, ...], about("The approaches of it, in the order they are flown.")
    ]
    findings: Annotated[tuple[Finding, ...], about("What every rule says of it.")]
    after_miss_there: Annotated[
        AfterMissThere | None,
        about("What a missed approach at its end would leave; null where not worked out."),
    ]
    steps: Annotated[tuple[Step, ...] | None, about("Stretches flown; null unless included.")]
