"""Approaches, aerodromes and readings with documented defaults: a category I ILS in good order."""

from __future__ import annotations

from typing import Any, Final

from decision.attempt.category import AeroplaneCategory
from decision.attempt.minima import OperatingMinima, operating_minima
from decision.case.types import Aerodrome, Approach, ApproachKind, Lights, Runway
from decision.quantities import Bound, Position
from decision.rulebooks.rulebook import Rulebook, load_rulebook
from decision.weather.readings import CeilingReading, Governing, RvrReading, VisibilityReading
from decision.weather.report import CeilingState
from tests.changing import replace

GOVERNING: Final = Governing(kind="METAR", text="", why="")

ILS: Final = Approach(
    id="ILS 09",
    runway="09",
    kind=ApproachKind.TYPE_B,
    needs=("ILS",),
    dh_ft=200.0,
    mdh_ft=None,
    rvr_m=550.0,
    visibility_m=None,
    lights=Lights.FULL,
    equipment_out=(),
    missed_gradient_percent=2.5,
    missed_altitude_ft=None,
    missed_track_nm=10.0,
    oei_missed_gradient_percent=None,
)


def approach(**changes: Any) -> Approach:
    """The ILS with changes."""
    return replace(ILS, **changes)


def non_precision(**changes: Any) -> Approach:
    """A VOR approach to a minimum descent height of 500 ft without published RVR."""
    changes = {
        "id": "VOR 09",
        "kind": ApproachKind.TYPE_A_2D,
        "needs": ("VOR",),
        "dh_ft": None,
        "mdh_ft": 500.0,
        "rvr_m": None,
        **changes,
    }
    return replace(ILS, **changes)


def circling(**changes: Any) -> Approach:
    """Circling with a published height of 650 ft and visibility of 2400 m."""
    changes = {
        "id": "circling 27",
        "runway": "27",
        "kind": ApproachKind.CIRCLING,
        "needs": ("VOR",),
        "dh_ft": None,
        "mdh_ft": 650.0,
        "rvr_m": None,
        "visibility_m": 2400.0,
        **changes,
    }
    return replace(ILS, **changes)


def minima(
    subject: Approach,
    *,
    rulebook: str = "easa",
    category: AeroplaneCategory | None = AeroplaneCategory.C,
    is_night: bool | None = False,
    lost: tuple[str, ...] = (),
    approvals: tuple[str, ...] = (),
    precision_runway: bool = False,
) -> OperatingMinima:
    """Operating minima by day for category C with everything working."""
    return operating_minima(
        subject,
        rulebook=load_rulebook(rulebook),
        category=category,
        is_night=is_night,
        lost_equipment=frozenset(lost),
        approvals=frozenset(approvals),
        precision_runway=precision_runway,
    )


def rulebook_with(rulebook: str, **figures: float | None) -> Rulebook:
    """A rulebook with other figures in some of its rows, and a digest of its own."""
    book = load_rulebook(rulebook)
    rows = {**book.rows, **{n: replace(book.row(n), value=v) for n, v in figures.items()}}
    return replace(book, digest=f"{book.digest}{sorted(figures.items())}", rows=rows)


def runway(ident: str, *, closed: bool = False) -> Runway:
    """A dry runway of 2500 m."""
    return Runway(
        ident=ident,
        true_bearing_deg=int(ident[:2]) * 10.0,
        lda_m=2500.0,
        slope_percent=0.0,
        width_m=45.0,
        grooved=False,
        condition_code=6,
        contaminant=None,
        depth_mm=None,
        closed=closed,
        strength_kg=None,
    )


def aerodrome(
    *approaches: Approach, separate: bool | None = None, closed: tuple[str, ...] = ()
) -> Aerodrome:
    """An aerodrome with the runways that its approaches lead to."""
    idents = sorted({each.runway for each in approaches})
    return Aerodrome(
        icao="XAAA",
        name="",
        elevation_ft=0.0,
        position=Position(latitude_deg=50.0, longitude_deg=10.0),
        runways=tuple(runway(ident, closed=ident in closed) for ident in idents),
        approaches=approaches,
        rescue_category=None,
        closures=(),
        opening=(),
        separate_runways=separate,
    )


def rvr(
    low_m: float | None,
    bound: Bound = Bound.EXACT,
    *,
    midpoint_m: float | None = None,
    stop_end_m: float | None = None,
    possibly_worse: bool = False,
) -> RvrReading:
    """A touchdown RVR of runway 09."""
    return RvrReading(
        runway="09",
        low_m=low_m,
        low_bound=bound,
        high_m=None,
        high_bound=None,
        tendency=None,
        midpoint_m=midpoint_m,
        stop_end_m=stop_end_m,
        possibly_worse=possibly_worse,
        governing=GOVERNING,
    )


def visibility(
    metres: float | None, bound: Bound = Bound.EXACT, *, possibly_worse: bool = False
) -> VisibilityReading:
    """A visibility."""
    return VisibilityReading(
        metres=metres,
        bound=Bound.UNKNOWN if metres is None else bound,
        prevailing_metres=metres,
        minimum_metres=None,
        possibly_worse=possibly_worse,
        possible_metres=None,
        governing=GOVERNING,
    )


def ceiling(feet: float | None, *, state: CeilingState = CeilingState.VALUE) -> CeilingReading:
    """A ceiling; None: not known."""
    return CeilingReading(
        state=CeilingState.UNKNOWN if feet is None and state is CeilingState.VALUE else state,
        feet=feet,
        possibly_worse=False,
        possible_ceiling_ft=None,
        governing=GOVERNING,
    )
