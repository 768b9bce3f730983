"""The answer as it is published: these types are the format, and the API document is made of them.

Every member is always there; what was not asked for is null.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from msgspec import Struct

from decision.answer.courses import (
    AttemptTold,
    CeilingByTime,
    CourseTold,
    FindingTold,
    GoverningWeather,
    Reason,
    RuleTold,
)
from decision.answer.fuel_ahead import FuelAhead
from decision.answer.reports import DecodedReport
from decision.case.types import ReportClass
from decision.decide.decision import Basis, Distress, Do, FuelState, Verdict
from decision.fields import Instant, about
from decision.notices import NoticeEffect, NoticeSubject
from decision.profile.systems_effects import Drive, Extension, Urgency, Weight
from decision.profile.types import AccuracyOf
from decision.quantities import AntiSkid, DoorPosition, GearPosition, SlatPosition
from decision.systems import IrreversibleChange, Limit
from decision.windows import Window


class Action(Struct, frozen=True, kw_only=True, gc=False):
    """What to do."""

    do: Annotated[Do, about("What to do.")]
    aerodrome: Annotated[str, about("Where: the destination, or where the diversion ends.")]
    runway: Annotated[str | None, about("Runway there; null where none can be used.")]
    latest_at: Annotated[Instant | None, about("By when it has to be begun; null: no deadline.")]
    course: Annotated[str, about("Label of the course that it flies.")]


class DeclaredEmergency(Struct, frozen=True, kw_only=True, gc=False):
    """Declaration advised, and why."""

    level: Annotated[Distress, about("What to declare.")]
    reason: Annotated[str, about("Why.")]
    phrase: Annotated[str, about("Words for the first call; empty without a declaration.")]
    basis: Annotated[str, about("Citation of the pilot's emergency authority.")]


class Whom(StrEnum):
    """Who is told."""

    AIR_TRAFFIC_CONTROL = "air_traffic_control"
    CABIN = "cabin"
    DISPATCH = "dispatch"


class Message(Struct, frozen=True, kw_only=True, gc=False):
    """What one of them is told."""

    to: Annotated[Whom, about("Who is told.")]
    text: Annotated[str, about("Words to be said or sent.")]


class DeadlineTold(Struct, frozen=True, kw_only=True, gc=False):
    """The deadline of the action, and where the aircraft then is."""

    at: Annotated[Instant, about("The last moment; the text rounds it down.")]
    what: Annotated[str, about("What ends then.")]
    aerodrome: Annotated[str, about("The place that the deadline is for.")]
    distance_to_go_nm: Annotated[float | None, about("Miles to the threshold then.", unit="NM")]
    fuel_kg: Annotated[float | None, about("Usable fuel then.", unit="kg")]
    holding_until: Annotated[
        Instant | None, about("How long it stays open holding here, where that is longer.")
    ]


class SecondBest(Struct, frozen=True, kw_only=True, gc=False):
    """The second-best course and its price."""

    course: Annotated[str, about("Label of the second-best course.")]
    aerodrome: Annotated[str, about("Where it ends.")]
    costs: Annotated[
        tuple[str, ...], about("Minutes and kilograms that it costs beside the chosen one.")
    ]
    breaks: Annotated[tuple[str, ...], about("What it breaks.")]


class OtherRunway(Struct, frozen=True, kw_only=True, gc=False):
    """The second-best runway of a place."""

    aerodrome: Annotated[str, about("Where.")]
    runway: Annotated[str, about("Its designator.")]
    approach: Annotated[str | None, about("Procedure; null without one that can be flown.")]
    lacks: Annotated[tuple[str, ...], about("What it breaks, or what is not known of it.")]


class Ask(Struct, frozen=True, kw_only=True, gc=False):
    """Something to ask."""

    what: Annotated[str, about("What is not known and would turn the answer.")]
    whom: Annotated[str, about("Who can say it.")]
    by_at: Annotated[Instant | None, about("By when; null: at once.")]


class PlaceFound(Struct, frozen=True, kw_only=True, gc=False):
    """A loaded aerodrome that was found in a search for more alternates."""

    icao: Annotated[str, about("Its location indicator.")]
    taken: Annotated[bool, about("Whether it was added to the alternates.")]
    why: Annotated[str, about("Why it was taken or left, how far it is and what it lacks.")]


class Caution(Struct, frozen=True, kw_only=True, gc=False):
    """Something that the crew must be told."""

    code: Annotated[str, about("Kind of the caution.")]
    text: Annotated[str, about("Whole sentences.")]
    weight: Annotated[Weight, about("How much it weighs.")]
    because: Annotated[tuple[str, ...], about("Path from its cause, cause first.")]


class PenaltyTold(Struct, frozen=True, kw_only=True, gc=False):
    """What the step that cannot be undone costs on the way to one alternate."""

    aerodrome: Annotated[str, about("The alternate.")]
    clean_kg: Annotated[float, about("Needed from there before the step.", unit="kg")]
    after_kg: Annotated[
        float | None, about("Needed from there after it; null: not in reach.", unit="kg")
    ]
    fuel_penalty_kg: Annotated[float | None, about("What the step costs.", unit="kg")]


class LastCleanDiversion(Struct, frozen=True, kw_only=True, gc=False):
    """The last point from which a clean diversion is legal; null figures carry their reason."""

    distance_to_go_nm: Annotated[float | None, about("Miles to the threshold.", unit="NM")]
    at: Annotated[Instant | None, about("When it is passed.")]
    fuel_kg: Annotated[float | None, about("Usable fuel there.", unit="kg")]
    aerodrome: Annotated[str | None, about("The best place to leave for from there.")]
    fuel_penalty_kg: Annotated[
        float | None, about("What passing it costs on the way to that place.", unit="kg")
    ]
    penalties: Annotated[
        tuple[PenaltyTold, ...],
        about("One for each alternate; all counted from the last clean point."),
    ]
    reason: Annotated[str | None, about("Why there is none; null where there is one.")]


class StepAheadTold(Struct, frozen=True, kw_only=True, gc=False):
    """One thing to do on the way to the threshold."""

    step: Annotated[str, about("What is done.")]
    distance_to_go_nm: Annotated[float, about("Where it begins.", unit="NM")]
    at: Annotated[Instant, about("When it begins.")]
    minutes: Annotated[float, about("How long it takes.", unit="min")]
    cannot_be_undone: Annotated[bool, about("Whether it is for good.")]
    late_nm: Annotated[
        float, about("How much further out it should have begun; 0: in time.", unit="NM")
    ]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


class GearExtensionTold(Struct, frozen=True, kw_only=True, gc=False):
    """The gear out at a distance to the threshold, and what that costs."""

    distance_to_go_nm: Annotated[float, about("Where the gear goes out.", unit="NM")]
    planned: Annotated[bool, about("Whether this is what the plan has.")]
    at: Annotated[Instant, about("When.")]
    at_missed_approach_kg: Annotated[float, about("Usable fuel at the minimum.", unit="kg")]
    more_kg: Annotated[float, about("What it takes above the latest of those compared.", unit="kg")]


class RemedyKind(StrEnum):
    """What would be changed: the missed approach, the mass, or what air traffic control asks."""

    ANOTHER_MINIMUM = "another_minimum"
    ANOTHER_RUNWAY = "another_runway"
    LESS_MASS = "less_mass"
    BURN_OFF = "burn_off"
    OVERWEIGHT_LANDING = "overweight_landing"
    REFUSE_HOLD = "refuse_hold"
    SHORTEN_HOLD = "shorten_hold"


class Remedy(Struct, frozen=True, kw_only=True, gc=False):
    """One way to meet a limit that is missed, or to a better answer."""

    kind: Annotated[RemedyKind, about("What would be changed.")]
    approach: Annotated[str | None, about("Procedure of another minimum.")]
    runway: Annotated[str | None, about("The other runway.")]
    mass_kg: Annotated[float | None, about("Mass at the missed approach point.", unit="kg")]
    minutes: Annotated[
        float | None, about("Of holding, for burning off and a shorter hold.", unit="min")
    ]
    text: Annotated[str, about("What it would do.")]
    say: Annotated[str | None, about("Words for air traffic control.")]


class HoldDeadline(Struct, frozen=True, kw_only=True, gc=False):
    """How long holding keeps something."""

    available_min: Annotated[float, about("Minutes of holding that are left.", unit="min")]
    until: Annotated[Instant, about("Until when.")]
    limited_by: Annotated[str, about("What ends it.")]


class HoldingTold(Struct, frozen=True, kw_only=True, gc=False):
    """The deadline that counts for the action first, then both."""

    available_min: Annotated[float | None, about("Minutes of holding left.", unit="min")]
    until: Annotated[Instant | None, about("Until when; null: there is none.")]
    limited_by: Annotated[str | None, about("What ends it.")]
    clean_diversion: Annotated[
        HoldDeadline | None, about("Until a clean diversion is no longer legal.")
    ]
    approach_and_miss: Annotated[
        HoldDeadline | None,
        about("Until an approach and a missed approach no longer leave a way out."),
    ]


class Look(Struct, frozen=True, kw_only=True, gc=False):
    """A moment, and for what."""

    at: Annotated[Instant, about("When.")]
    why: Annotated[str, about("For what.")]


class FunctionLost(Struct, frozen=True, kw_only=True, gc=False):
    """Something that is lost or degraded."""

    function: Annotated[str, about("Its id in the profile.")]
    degraded: Annotated[bool, about("Still there in a lesser way.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


class GearLeft(Struct, frozen=True, kw_only=True, gc=False):
    """The landing gear."""

    position: Annotated[GearPosition, about("Where it is.")]
    extension: Annotated[Extension, about("How it can still be extended.")]
    retractable: Annotated[bool, about("Whether, when down, it can be brought up.")]
    doors_after_extension: Annotated[DoorPosition, about("Its doors once it is out.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


class FlapsLeft(Struct, frozen=True, kw_only=True, gc=False):
    """The flaps."""

    position: Annotated[str, about("Detent where they are.")]
    reachable: Annotated[tuple[str, ...], about("Detents they can reach.")]
    drive: Annotated[Drive, about("How fast they still move.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


class SlatsLeft(Struct, frozen=True, kw_only=True, gc=False):
    """The slats."""

    position: Annotated[SlatPosition, about("Where they are.")]
    movable: Annotated[bool, about("Whether they still move.")]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


class LandingDevice(Struct, frozen=True, kw_only=True, gc=False):
    """What is left of a device that stops the aircraft."""

    device: Annotated[str, about("Which device.")]
    left: Annotated[
        bool | float | AntiSkid, about("Whether it works, how many, what share, or how.")
    ]


class CapabilityLeft(Struct, frozen=True, kw_only=True, gc=False):
    """What is left of the aircraft."""

    lost: Annotated[tuple[FunctionLost, ...], about("What is lost or degraded.")]
    gear: Annotated[GearLeft, about("The landing gear.")]
    flap: Annotated[FlapsLeft, about("The flaps.")]
    slats: Annotated[SlatsLeft, about("The slats.")]
    engines_running: Annotated[int, about("Engines that run.")]
    pressurised: Annotated[bool, about("Whether the cabin is.")]
    urgency: Annotated[Urgency, about("How soon the failures want it on the ground.")]
    limits: Annotated[tuple[Limit, ...], about("Limits that failures set.")]
    landing_devices: Annotated[
        tuple[LandingDevice, ...], about("What is left of each device that stops it.")
    ]
    lost_approach_equipment: Annotated[
        tuple[str, ...], about("Equipment that approaches may need and that is lost.")
    ]
    irreversible: Annotated[tuple[IrreversibleChange, ...], about("Steps that cannot be undone.")]


class FetchedReport(Struct, frozen=True, kw_only=True, gc=False):
    """What came of fetching a report that the case lacked."""

    kind: Annotated[ReportClass, about("Which report.")]
    at: Annotated[Instant | None, about("When the source gave it; null: nothing came.")]
    age_s: Annotated[float | None, about("How long before the case was made.", unit="s")]
    stale: Annotated[bool, about("Whether a newer one was due and could not be had.")]
    problem: Annotated[str | None, about("Why not.")]


class ObservationInShort(Struct, frozen=True, kw_only=True, gc=False):
    """An observation in short; `raw` is what was said."""

    raw: Annotated[str, about("The report.")]
    issued_at: Annotated[Instant, about("Time of the report.")]
    from_true_deg: Annotated[
        float | None,
        about("True direction of the wind; null: none.", unit="degrees"),
    ]
    speed_kt: Annotated[float | None, about("Mean wind.", unit="kt")]
    gust_kt: Annotated[float | None, about("Gust.", unit="kt")]
    visibility_m: Annotated[float | None, about("Prevailing visibility.", unit="m")]
    ceiling_ft: Annotated[float | None, about("Ceiling; null: none, or not known.", unit="ft")]
    weather: Annotated[tuple[str, ...], about("Weather groups.")]
    temperature_degc: Annotated[float | None, about("Temperature.", unit="degrees Celsius")]
    qnh_hpa: Annotated[float | None, about("QNH.", unit="hPa")]


class NoticeAtPlace(Struct, frozen=True, kw_only=True, gc=False):
    """A notice of a place, and whether an arrival meets it."""

    id: Annotated[
        str, about("Its number, or where it stands among the notices.", examples=["A0123/26"])
    ]
    does: Annotated[str, about("What it does, in words.", examples=["runway 09/27 closed"])]
    subject: Annotated[NoticeSubject | None, about("What it is about; null: not read.")]
    effect: Annotated[NoticeEffect, about("What it does to that.")]
    from_at: Annotated[
        Instant | None,
        about("In force from; null: not known.", examples=["2026-01-31T05:00:00Z"]),
    ]
    until_at: Annotated[
        Instant | None,
        about("In force until; null: no end is known.", examples=["2026-01-31T12:00:00Z"]),
    ]
    estimated: Annotated[bool, about("The end is estimated: it counts as not ended.")]
    in_force: Annotated[
        bool | None, about("In force for the best arrival there; null: no course approaches there.")
    ]
    unread: Annotated[
        tuple[str, ...], about("What of it could not be read.", examples=[["D) 0600-1000"]])
    ]


class DecodedPair(Struct, frozen=True, kw_only=True, gc=False):
    """The reports of a place decoded in full."""

    observation: Annotated[DecodedReport | None, about("The observation in force.")]
    forecast: Annotated[DecodedReport | None, about("The forecast in force.")]
    notices: Annotated[tuple[NoticeAtPlace, ...], about("Notices of the place.")]
    ceiling_by_time: Annotated[
        tuple[CeilingByTime, ...],
        about("What each group of trend and forecast says of the ceiling as courses arrive."),
    ]


class PlaceWeather(Struct, frozen=True, kw_only=True, gc=False):
    """The weather of a place, and what governs for the best course that approaches there."""

    observation: Annotated[ObservationInShort | None, about("The observation in force, in short.")]
    forecast: Annotated[str | None, about("Text of the forecast in force.")]
    governing: Annotated[GoverningWeather | None, about("Null where no course approaches there.")]
    window: Annotated[Window | None, about("The time over which it is judged.")]
    age_min: Annotated[float | None, about("Age of the observation then.", unit="min")]
    unread: Annotated[tuple[str, ...], about("Groups that could not be read.")]
    fetched: Annotated[tuple[FetchedReport, ...], about("What was fetched for the case.")]


class FlipPointTold(Struct, frozen=True, kw_only=True, gc=False):
    """How far one input alone would have to move to turn the verdict."""

    input: Annotated[str, about("The input.")]
    present: Annotated[float | None, about("Its value now, in `unit`; null: not known.")]
    flips_at: Annotated[
        float | None, about("The first value that turns it, in `unit`; null: none does.")
    ]
    to_verdict: Annotated[Verdict | None, about("What it turns to.")]
    unit: Annotated[str | None, about("Unit of the two figures.")]


class Uncertainty(Struct, frozen=True, kw_only=True, gc=False):
    """How the fuel on landing of the chosen course may turn out, from flights of every sample."""

    landing_fuel_p5_kg: Annotated[float, about("In the worst of 20.", unit="kg")]
    landing_fuel_p50_kg: Annotated[float, about("In the middle.", unit="kg")]
    landing_fuel_p95_kg: Annotated[float, about("In the best of 20.", unit="kg")]
    below_final_reserve_probability: Annotated[
        float, about("Share of the samples that land under final reserve, 0 to 1.")
    ]
    samples: Annotated[int, about("Flights.")]
    seed: Annotated[int, about("Of the random numbers.")]


class Accuracy(Struct, frozen=True, kw_only=True, gc=False):
    """How far a figure of the model may be off in 19 cases of 20."""

    of: Annotated[AccuracyOf, about("Which figure.")]
    within: Annotated[float, about("Its error, in `unit`.")]
    unit: Annotated[str, about("Percent of the figure, or points of a percentage.")]


class UnderRulebook(Struct, frozen=True, kw_only=True, gc=False):
    """What the same case comes to under a rulebook, and what decides there."""

    rulebook: Annotated[str, about("Its id.")]
    verdict: Annotated[Verdict, about("The verdict under it.")]
    do: Annotated[Do, about("What to do under it.")]
    aerodrome: Annotated[str, about("Where its chosen course ends.")]
    basis: Annotated[Basis, about("The row of the table of decisions that spoke.")]
    headline: Annotated[str, about("The decision in words.")]
    reasons: Annotated[tuple[Reason, ...], about("What decides.")]


class Assumed(Struct, frozen=True, kw_only=True, gc=False):
    """A default that was used because the request did not say."""

    field: Annotated[str, about("JSON Pointer of the field, or what it is of.")]
    value: Annotated[float | bool | str, about("What was taken, in the unit of the field.")]
    text: Annotated[str | None, about("Why, where that is more than that it was not given.")]


class Edition(Struct, frozen=True, kw_only=True, gc=False):
    """A rulebook by version."""

    id: Annotated[str, about("Its id.")]
    version: Annotated[str, about("Its version.")]


class DataInUse(Edition, frozen=True, kw_only=True, gc=False):
    """A profile by version and content."""

    digest: Annotated[str, about("SHA-256 of its files.")]


class AerodromesInUse(Struct, frozen=True, kw_only=True, gc=False):
    """The aerodromes that were loaded, by content."""

    digest: Annotated[str, about("SHA-256 of their files.")]
    count: Annotated[int, about("How many aerodromes.")]


class Provenance(Struct, frozen=True, kw_only=True, gc=False):
    """By what the answer was made."""

    engine_version: Annotated[str, about("Version of the engine.")]
    rulebook: Annotated[Edition, about("The rulebook.")]
    profile: Annotated[DataInUse, about("The aircraft profile.")]
    input_digest: Annotated[str, about("SHA-256 of the canonical JSON of the case.")]
    aerodromes: Annotated[
        AerodromesInUse | None,
        about(
            "The operator's aerodromes of which the case names some, or those that it was "
            "proposed some of; null: each place is described, or comes with the engine."
        ),
    ]


class Answer(Struct, frozen=True, kw_only=True, gc=False):
    """The answer to a case, in the order in which to read it."""

    id: Annotated[str | None, about("Id of the record; null when it is not recorded.")]
    flight_id: Annotated[str, about("As in the request.")]
    as_of: Annotated[Instant, about("The moment of deciding.")]
    verdict: Annotated[Verdict, about("Go or no go.")]
    action: Annotated[Action, about("What to do.")]
    basis: Annotated[Basis, about("The row of the table of decisions that spoke.")]
    headline: Annotated[str, about("The decision in words.")]
    fuel_on_board_kg: Annotated[
        float, about("All fuel on board at `as_of`, unusable fuel included.", unit="kg")
    ]
    fuel_state: Annotated[FuelState, about("State of the fuel in words of air traffic.")]
    emergency: Annotated[DeclaredEmergency, about("Declaration advised.")]
    messages: Annotated[tuple[Message, ...], about("What to say to whom.")]
    deadline: Annotated[
        DeadlineTold | None, about("By when the action has to be begun; null: no deadline.")
    ]
    until_then: Annotated[
        tuple[str, ...],
        about("What must not be done before leaving, since it cannot be undone."),
    ]
    instead: Annotated[
        SecondBest | None, about("The second-best course and its price; null without another.")
    ]
    ways_out: Annotated[int, about("Aerodromes left after a missed approach at the destination.")]
    other_runways: Annotated[
        tuple[OtherRunway, ...], about("The second-best runway of each place.")
    ]
    ask: Annotated[tuple[Ask, ...], about("What to ask, of whom and by when.")]
    alternates_proposed: Annotated[
        tuple[PlaceFound, ...] | None,
        about(
            "Loaded aerodromes that were found for more alternates, the soonest touchdown first; "
            "null where none were asked for."
        ),
    ]
    minimum_fuel_to_start_kg: Annotated[
        float | None,
        about("Least fuel on board now to start the approach and keep a way out.", unit="kg"),
    ]
    reasons: Annotated[tuple[Reason, ...], about("The findings that decide.")]
    cautions: Annotated[tuple[Caution, ...], about("What the crew must be told.")]
    last_clean_diversion: Annotated[
        LastCleanDiversion, about("The last point from which a clean diversion is legal.")
    ]
    timeline: Annotated[tuple[StepAheadTold, ...], about("Steps on the way to the threshold.")]
    gear_extension: Annotated[
        tuple[GearExtensionTold, ...], about("What it costs to put the gear out early.")
    ]
    remedies: Annotated[tuple[Remedy, ...], about("What would help.")]
    holding: Annotated[HoldingTold, about("How long can be held.")]
    next_look: Annotated[Look, about("When to look again, and for what.")]
    valid_until: Annotated[Look, about("When the first thing in it stops holding.")]
    courses: Annotated[tuple[CourseTold, ...], about("Every course, the best first.")]
    rules: Annotated[dict[str, RuleTold], about("The rules that the answer names, by code.")]
    findings: Annotated[
        tuple[FindingTold, ...] | None, about("What every rule says; null unless included.")
    ]
    not_applicable: Annotated[
        dict[str, tuple[str, ...]] | None,
        about("Codes of rules that do not apply, by subject; null unless findings are included."),
    ]
    attempts: Annotated[
        dict[str, AttemptTold] | None, about("Approaches by id; null unless findings are included.")
    ]
    capability: Annotated[CapabilityLeft, about("What is left of the aircraft.")]
    weather: Annotated[dict[str, PlaceWeather], about("By location indicator.")]
    reports: Annotated[
        dict[str, DecodedPair] | None,
        about(
            "Reports in force decoded, by location indicator; null unless findings are included."
        ),
    ]
    flip_points: Annotated[
        tuple[FlipPointTold, ...] | None,
        about("What would turn the verdict; null unless included."),
    ]
    fuel_ahead: Annotated[
        tuple[FuelAhead, ...] | None,
        about(
            "Fuel on board and needed for each alternate, from the present position to the "
            "minimum; null unless `ahead` is included."
        ),
    ]
    uncertainty: Annotated[
        Uncertainty | None, about("Spread of the fuel on landing; null unless included.")
    ]
    accuracy: Annotated[tuple[Accuracy, ...], about("Error of the model, 19 cases of 20.")]
    rulebooks_compared: Annotated[
        tuple[UnderRulebook, ...] | None,
        about("What the same case comes to under every rulebook; null unless asked for."),
    ]
    included: Annotated[tuple[str, ...], about("What the request asked to include.")]
    unknowns: Annotated[tuple[str, ...], about("What is not known and matters.")]
    assumptions: Annotated[tuple[Assumed, ...], about("Defaults that were used.")]
    disclaimer: Annotated[str, about("Who decides.")]
    provenance: Annotated[Provenance, about("By what it was made.")]
