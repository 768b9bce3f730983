"""What the calculators under a decision answer: decoded weather, failures expanded, performance."""

from __future__ import annotations

from typing import Annotated

from msgspec import Struct

from decision.answer.tokens import TokenedReport
from decision.fields import Instant, about
from decision.notices import ReadNotice
from decision.performance import Landing, Step
from decision.performance.climb import Reached
from decision.performance.configuration import OrdinaryWay
from decision.systems import Capability
from decision.weather.collect import SetAside
from decision.weather.readings import Conditions, Segment


class DecodedReports(Struct, frozen=True, kw_only=True, gc=False):
    """Reports decoded, in the order in which they were given."""

    reports: Annotated[tuple[TokenedReport, ...], about("One for each text.")]


class DecodedNotices(Struct, frozen=True, kw_only=True, gc=False):
    """Notices read, in the order in which they were given."""

    notices: Annotated[tuple[ReadNotice, ...], about("One for each.")]


class ReportInForce(Struct, frozen=True, kw_only=True, gc=False):
    """A report that speaks."""

    raw: Annotated[str, about("The report.")]
    kind: Annotated[str, about("Code form.")]
    issued_at: Annotated[Instant, about("Time of the report.")]
    age_min: Annotated[float, about("Its age at `as_of`.", unit="min")]
    expires_at: Annotated[Instant, about("When it makes nothing known any more.")]
    unread: Annotated[tuple[str, ...], about("Groups that could not be read.")]


class ConditionsOverWindow(Struct, frozen=True, kw_only=True, gc=False):
    """What governs at a place over a window, and what was not used."""

    station: Annotated[str, about("Location indicator.")]
    as_of: Annotated[Instant, about("The present time.")]
    rulebook: Annotated[str, about("The rulebook whose reading it is.")]
    conditions: Annotated[Conditions, about("The worst of the window, element by element.")]
    timeline: Annotated[tuple[Segment, ...], about("The window, part by part.")]
    in_force: Annotated[tuple[ReportInForce, ...], about("Reports that speak.")]
    set_aside: Annotated[tuple[SetAside, ...], about("Reports that are not used.")]
    other_stations: Annotated[tuple[str, ...], about("Reports of other places.")]


class StepOnTheWay(Struct, frozen=True, kw_only=True, gc=False):
    """One thing to do on the way to the threshold."""

    step: Annotated[str, about("What is done.")]
    distance_to_go_nm: Annotated[float, about("Where it begins.", unit="NM")]
    in_min: Annotated[float, about("When it begins, from now.", unit="min")]
    minutes: Annotated[float, about("How long it takes.", unit="min")]
    cannot_be_undone: Annotated[bool, about("Whether it is for good.")]
    late_nm: Annotated[
        float, about("How much further out it should have begun; 0: in time.", unit="NM")
    ]
    because: Annotated[tuple[str, ...], about("Path from the failure, failure first.")]


class Expansion(Struct, frozen=True, kw_only=True, gc=False):
    """What failures take away and what is left."""

    capability: Annotated[Capability, about("What is left of the aircraft.")]
    sentences: Annotated[tuple[str, ...], about("The same in words.")]
    timeline: Annotated[
        tuple[StepOnTheWay, ...] | None, about("Steps ahead; null where no way is given.")
    ]


class DiversionTold(Struct, frozen=True, kw_only=True, gc=False):
    """A flight; the figures of one that cannot be flown are null."""

    feasible: Annotated[bool, about("Whether it can be flown.")]
    limited_by: Annotated[str | None, about("The limit that forbids it.")]
    fuel_kg: Annotated[float | None, about("Fuel that leaves the tanks.", unit="kg")]
    time_min: Annotated[float | None, about("Duration.", unit="min")]
    distance_nm: Annotated[float | None, about("Distance flown.", unit="NM")]
    pressure_altitude_ft: Annotated[float | None, about("Cruise level.", unit="ft")]
    cas_kt: Annotated[float | None, about("Calibrated airspeed of the cruise.", unit="kt")]
    end_mass_kg: Annotated[float | None, about("Mass at the end.", unit="kg")]
    steps: Annotated[tuple[Step, ...], about("Its stretches.")]
    unknown: Annotated[bool, about("What governs its fuel has no figure.")]
    ordinary: Annotated[OrdinaryWay | None, about("The same at the level and speed of every day.")]


class LandingWithFactor(Landing, frozen=True, kw_only=True, gc=False):
    """A landing, and its distance with the factor asked for."""

    factored_m: Annotated[float | None, about("Distance with the factor.", unit="m")]


class ClimbTold(Struct, frozen=True, kw_only=True, gc=False):
    """A climb as the aircraft is, its ceiling, and how far it gets."""

    gradient_percent: Annotated[float, about("Gradient through the air.", unit="percent")]
    ground_gradient_percent: Annotated[float, about("Gradient over the ground.", unit="percent")]
    gradient_ft_per_nm: Annotated[float, about("Gradient over the ground.", unit="ft/NM")]
    rate_fpm: Annotated[float, about("Rate of climb.", unit="ft/min")]
    cas_kt: Annotated[float, about("Calibrated airspeed.", unit="kt")]
    ceiling_ft: Annotated[float | None, about("The highest level it can hold.", unit="ft")]
    reached: Annotated[Reached | None, about("At the distance asked for; null: none asked.")]


class HoldingFlight(Struct, frozen=True, kw_only=True, gc=False):
    """A hold; the figures of one that cannot be flown are null."""

    feasible: Annotated[bool, about("Whether it can be flown.")]
    limited_by: Annotated[str | None, about("The limit that forbids it.")]
    fuel_kg: Annotated[float | None, about("Fuel that leaves the tanks.", unit="kg")]
    flow_kg_per_h: Annotated[float | None, about("Fuel flow.", unit="kg/h")]
    cas_kt: Annotated[float | None, about("Calibrated airspeed.", unit="kt")]
