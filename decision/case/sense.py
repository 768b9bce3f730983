"""What a shape cannot see: figures that contradict each other or the profile.

Each check is one small function in the table at the end; every one runs, so that a request is
corrected in one go and not fault by fault.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from decision.case.carried import alternate_of
from decision.case.types import Case
from decision.errors import Fault
from decision.notices import Notice, NoticeEffect, NoticeSubject
from decision.systems import check_failures

Check = Callable[[Case], tuple[Fault, ...]]


def faults(case: Case) -> tuple[Fault, ...]:
    """Every contradiction in the case."""
    return tuple(fault for check in CHECKS for fault in check(case))


def _range_fault(
    pointer: str, name: str, value: float, *, low: float, high: float, unit: str
) -> tuple[Fault, ...]:
    if low <= value <= high:
        return ()
    return (
        Fault(
            pointer=pointer,
            code="range",
            message=f"{name} is {value:g} {unit}",
            accepted=f"{low:g} to {high:g} {unit} for this profile and case",
        ),
    )


def _mass(case: Case) -> tuple[Fault, ...]:
    masses = case.aircraft.profile.masses
    return _range_fault(
        "/aircraft/mass_kg",
        "gross mass",
        case.aircraft.mass_kg,
        low=masses.oew_kg,
        high=masses.mtow_kg,
        unit="kg",
    )


def _zero_fuel_mass(case: Case) -> tuple[Fault, ...]:
    """Both figures are named, since either may be the wrong one."""
    masses = case.aircraft.profile.masses
    zero_fuel_kg = case.aircraft.mass_kg - case.fuel.on_board_kg
    return tuple(
        fault
        for pointer in ("/aircraft/mass_kg", "/fuel/on_board_kg")
        for fault in _range_fault(
            pointer,
            f"mass {case.aircraft.mass_kg:g} kg less fuel {case.fuel.on_board_kg:g} kg",
            zero_fuel_kg,
            low=masses.oew_kg,
            high=masses.mzfw_kg,
            unit="kg",
        )
    )


def _tank(case: Case) -> tuple[Fault, ...]:
    return _range_fault(
        "/fuel/on_board_kg",
        "fuel on board",
        case.fuel.on_board_kg,
        low=0.0,
        high=case.aircraft.profile.masses.max_fuel_kg,
        unit="kg",
    )


def _unusable(case: Case) -> tuple[Fault, ...]:
    return _range_fault(
        "/fuel/unusable_kg",
        "unusable fuel",
        case.fuel.unusable_kg,
        low=0.0,
        high=case.fuel.on_board_kg,
        unit="kg",
    )


def _trapped(case: Case) -> tuple[Fault, ...]:
    """What a failure traps is part of the fuel on board, beside what was unusable before."""
    high_kg = max(0.0, case.fuel.on_board_kg - case.fuel.unusable_kg)
    return tuple(
        fault
        for i, failure in enumerate(case.failures)
        for fault in _range_fault(
            f"/failures/{i}/quantity_kg",
            "trapped fuel",
            failure.quantity_kg or 0.0,
            low=0.0,
            high=high_kg,
            unit="kg",
        )
    )


def _altitude(case: Case) -> tuple[Fault, ...]:
    return _range_fault(
        "/aircraft/pressure_altitude_ft",
        "pressure altitude",
        case.aircraft.pressure_altitude_ft,
        low=case.destination.aerodrome.elevation_ft - LOWEST_BELOW_ELEVATION_FT,
        high=case.aircraft.profile.limits.max_pressure_altitude_ft,
        unit="ft",
    )


def _detent_fault(case: Case, pointer: str, flap: str) -> tuple[Fault, ...]:
    known = [detent.id for detent in case.aircraft.profile.detents]
    if flap in known:
        return ()
    return (
        Fault(
            pointer=pointer,
            code="unknown_detent",
            message=f"the profile has no flap detent {flap!r}",
            accepted=", ".join(known),
        ),
    )


def _flap(case: Case) -> tuple[Fault, ...]:
    return _detent_fault(case, "/aircraft/flap", case.aircraft.flap)


def _landing_flap(case: Case) -> tuple[Fault, ...]:
    wanted = case.plan.landing_flap
    return () if wanted is None else _detent_fault(case, "/plan/landing_flap", wanted)


def _failures(case: Case) -> tuple[Fault, ...]:
    if _flap(case):
        return ()  # the state of the flaps is the first thing to correct
    aircraft = case.aircraft
    return check_failures(
        aircraft.profile,
        case.failures,
        gear=aircraft.gear,
        flap=aircraft.flap,
        slats=aircraft.slats,
    )


def _plan_approach(case: Case) -> tuple[Fault, ...]:
    known = [approach.id for approach in case.destination.aerodrome.approaches]
    if case.plan.approach is None or case.plan.approach in known:
        return ()
    return (
        Fault(
            pointer="/plan/approach",
            code="unknown_approach",
            message=f"{case.destination.aerodrome.icao} has no approach {case.plan.approach!r}",
            accepted=", ".join(known) or "no approach is described there",
        ),
    )


def _plan_runway(case: Case) -> tuple[Fault, ...]:
    known = [runway.ident for runway in case.destination.aerodrome.runways]
    if case.plan.runway is None or case.plan.runway in known:
        return ()
    return (
        Fault(
            pointer="/plan/runway",
            code="unknown_runway",
            message=f"{case.destination.aerodrome.icao} has no runway {case.plan.runway!r}",
            accepted=", ".join(known),
        ),
    )


def _places(case: Case) -> tuple[Fault, ...]:
    seen = [case.destination.aerodrome.icao]
    found = []
    for index, leg in enumerate(case.alternates):
        if leg.aerodrome.icao in seen:
            found.append(
                Fault(
                    pointer=f"/alternates/{index}/icao",
                    code="duplicate",
                    message=f"{leg.aerodrome.icao} is already the destination or an alternate",
                    accepted="each aerodrome once",
                )
            )
        seen.append(leg.aerodrome.icao)
    return tuple(found)


def _wind_levels(case: Case) -> tuple[Fault, ...]:
    levels = [wind.pressure_altitude_ft for wind in case.winds_aloft or ()]
    if len(set(levels)) == len(levels):
        return ()
    return (
        Fault(
            pointer="/winds_aloft",
            code="duplicate",
            message="two winds are given for one level",
            accepted="each level once",
        ),
    )


def _carried(case: Case) -> tuple[Fault, ...]:
    """What is carried is of this case, and was given before."""
    values = () if case.carried is None else case.carried.values
    found = []
    for index, each in enumerate(values):
        place = f"/carried/values/{index}"
        if each.given_at > case.as_of:
            found.append(
                Fault(
                    pointer=f"{place}/given_at",
                    code="range",
                    message="is later than as_of",
                    accepted="a moment not later than as_of",
                )
            )
        if alternate_of(each.field, case) is None and each.field.startswith("/alternates"):
            found.append(
                Fault(
                    pointer=f"{place}/field",
                    code="range",
                    message=f"the case has {len(case.alternates)} alternates",
                    accepted="a member of this case",
                )
            )
    return tuple(found)


def _notices(case: Case) -> tuple[Fault, ...]:
    return notice_faults(case.notices)


def notice_faults(notices: Sequence[Notice]) -> tuple[Fault, ...]:
    """A notice is a text, or says what it is of, what it does and from when."""
    return tuple(
        fault
        for index, notice in enumerate(notices)
        for fault in (
            _of_text(notice, f"/notices/{index}")
            if notice.raw is not None
            else (*_lacking(notice, f"/notices/{index}"), *_unfit(notice, f"/notices/{index}"))
        )
    )


def _of_text(notice: Notice, place: str) -> tuple[Fault, ...]:
    return tuple(
        Fault(
            pointer=f"{place}/{name}",
            code="contradiction",
            message="is given beside the text of the notice",
            accepted="raw, or the members of a notice, not both",
        )
        for name in Notice.__struct_fields__
        if name not in BESIDE_A_TEXT and getattr(notice, name) is not None
    )


def _lacking(notice: Notice, place: str) -> tuple[Fault, ...]:
    return tuple(
        Fault(
            pointer=f"{place}/{name}",
            code="required",
            message=f"{name} is required of a notice without a text",
            accepted=accepted,
        )
        for name, accepted in NEEDED_OF_A_NOTICE.get(notice.subject, ()) + NEEDED_ALWAYS
        if getattr(notice, name) is None
    )


def _unfit(notice: Notice, place: str) -> tuple[Fault, ...]:
    """An effect that its subject cannot have, an end that is no later than the beginning."""
    found = []
    subject, effect = notice.subject, notice.effect
    fitting = (*EFFECTS_OF_SUBJECT.get(subject, OF_AN_AID), NoticeEffect.UNKNOWN)
    if subject is not None and effect is not None and effect not in fitting:
        found.append(
            Fault(
                pointer=f"{place}/effect",
                code="contradiction",
                message=f"{subject.value} cannot be {effect.value}",
                accepted=", ".join(fitting),
            )
        )
    from_at, until_at = notice.from_at, notice.until_at
    if from_at is not None and until_at is not None and from_at >= until_at:
        found.append(
            Fault(
                pointer=f"{place}/until_at",
                code="order",
                message="a notice ends after it begins",
                accepted="an instant after from_at",
            )
        )
    return tuple(found)


BESIDE_A_TEXT: Final = frozenset({"raw", "id"})
NEEDED_ALWAYS: Final = (
    ("place", "a location indicator"),
    ("subject", ", ".join(NoticeSubject)),
    ("effect", ", ".join(NoticeEffect)),
    ("from_at", "an instant"),
)
NEEDED_OF_A_NOTICE: Final[dict[NoticeSubject | None, tuple[tuple[str, str], ...]]] = {
    NoticeSubject.RUNWAY: (("runway", "a designator"),),
    NoticeSubject.DECLARED_DISTANCES: (
        ("runway", "a designator"),
        ("lda_m", "the landing distance that is left"),
    ),
    NoticeSubject.RESCUE: (("category", "the category that is left"),),
}
OF_AN_AID: Final = (NoticeEffect.UNSERVICEABLE,)
EFFECTS_OF_SUBJECT: Final[dict[NoticeSubject | None, tuple[NoticeEffect, ...]]] = {
    NoticeSubject.AERODROME: (NoticeEffect.CLOSED,),
    NoticeSubject.RUNWAY: (NoticeEffect.CLOSED,),
    NoticeSubject.DECLARED_DISTANCES: (NoticeEffect.CHANGED,),
    NoticeSubject.RESCUE: (NoticeEffect.CHANGED,),
    NoticeSubject.ILS: (NoticeEffect.UNSERVICEABLE, NoticeEffect.DOWNGRADED),
    NoticeSubject.RUNWAY_CONDITION: (),
    NoticeSubject.NO_MATTER: (NoticeEffect.NONE,),
}

# A pressure altitude may lie below the elevation when the QNH is high: 2000 ft is 75 hPa of it.
LOWEST_BELOW_ELEVATION_FT: Final = 2000.0

CHECKS: Final[tuple[Check, ...]] = (
    _mass,
    _zero_fuel_mass,
    _tank,
    _unusable,
    _trapped,
    _altitude,
    _flap,
    _landing_flap,
    _failures,
    _plan_approach,
    _plan_runway,
    _places,
    _wind_levels,
    _carried,
    _notices,
)
