"""The claims that touch a window, folded into one reading per element: the worst, with its group.

Every fold works the same way. The worst known value stands with the group that gave it; anything
that keeps the element from being wholly known (a word that was not read, a time that nobody speaks
of) is a doubt, and a doubt makes `possibly_worse`. With doubts and no known value it is unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from math import inf
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.quantities import Bound
from decision.weather.claims import Claim, clock
from decision.weather.phenomena import CEILING_AMOUNTS
from decision.weather.readings import (
    NOTHING,
    CeilingReading,
    Disregarded,
    Governing,
    VisibilityReading,
    WindReading,
)
from decision.weather.report import (
    CeilingState,
    CloudAmount,
    Convective,
    Element,
    Elements,
    Remark,
    RemarkKind,
    Visibility,
    WeatherGroup,
)
from decision.windows import Window, gaps

THUNDERSTORM_SENSOR: Final = "TSNO"  # [FAA-AIM] 7-1-29
FREEZING_RAIN_SENSOR: Final = "FZRANO"  # [FAA-AIM] 7-1-29
UNKNOWN_PRECIPITATION: Final = "UP"  # [WMO-306] code table 4678
FREEZING_DEGC: Final = 0.0

_BOUNDS_WORST_FIRST: Final = (Bound.BELOW, Bound.UNKNOWN, Bound.EXACT, Bound.AT_LEAST, Bound.ABOVE)
_LOWER_VISIBILITY: Final = frozenset(
    {
        RemarkKind.TOWER_VISIBILITY,
        RemarkKind.SURFACE_VISIBILITY,
        RemarkKind.VARIABLE_VISIBILITY,
        RemarkKind.SECTOR_VISIBILITY,
    }
)
_LOWER_CEILING: Final = frozenset({RemarkKind.VARIABLE_CEILING, RemarkKind.CEILING_AT})


class Heard(Struct, frozen=True, kw_only=True, gc=False):
    """The claims on one element that touch a window.

    `reasons`: why a claim cannot be relied on, in plain words. `silences`: the parts of the window
    of which nothing in force tells the element at all.
    """

    element: Element
    claims: tuple[Claim, ...]
    reasons: tuple[str, ...]
    silences: tuple[str, ...]

    @property
    def doubts(self) -> tuple[str, ...]:
        """Why the element is not wholly known; () if it is."""
        return tuple(dict.fromkeys((*self.reasons, *self.silences)))

    @property
    def silent(self) -> bool:
        """Whether a part of the window is told by nothing."""
        return bool(self.silences)

    @property
    def in_doubt(self) -> Governing:
        """The group that leaves the element in doubt, where no group makes it known."""
        for claim in self.claims:
            reason = claim.hidden or _not_given(claim)
            if reason is not None:
                said = claim.governing
                return Governing(kind=said.kind, text=said.text, why=reason)
        return Governing(kind=NOTHING, text="", why="; ".join(self.doubts))


def hear(claims: Iterable[Claim], element: Element, window: Window) -> Heard:
    """What the claims on one element say in a window, and what they leave in doubt."""
    touching = tuple(claim for claim in claims if claim.touches(window))
    covering = [claim.window for claim in touching if claim.covers]
    return Heard(
        element=element,
        claims=touching,
        reasons=_reasons(touching),
        silences=tuple(_silence(element, gap) for gap in gaps(covering, window)),
    )


Keep = Callable[[Claim], bool]


def only(heard: Heard, keep: Keep) -> Heard | None:
    """The part of what is heard that some claims say; None if none of them speaks.

    What nothing tells stays untold: the silences are those of the whole.
    """
    claims = tuple(filter(keep, heard.claims))
    if not claims:
        return None
    return replace(heard, claims=claims, reasons=_reasons(claims))


def alone(claim: Claim) -> Heard:
    """One claim as if nothing else spoke: of its own time it leaves nothing untold."""
    return Heard(element=claim.element, claims=(claim,), reasons=_reasons((claim,)), silences=())


def _reasons(claims: Iterable[Claim]) -> tuple[str, ...]:
    reasons = (claim.hidden or _not_given(claim) for claim in claims)
    return tuple(dict.fromkeys(reason for reason in reasons if reason))


def _silence(element: Element, gap: Window) -> str:
    return f"nothing in force tells the {element} from {clock(gap.start_at)} to {clock(gap.end_at)}"


def _not_given(claim: Claim) -> str | None:
    """Why a claim has no value for its element, or None if it has one."""
    said = claim.said
    match claim.element:
        case Element.VISIBILITY:
            given = said.visibility is not None and said.visibility.worst_metres is not None
        case Element.CLOUD:
            given = said.ceiling is not None and said.ceiling.state is not CeilingState.UNKNOWN
        case Element.WIND:
            given = said.wind is not None and said.wind.speed_kt is not None
        case _:  # a full set without a weather group says that there is none
            given = True
    return None if given else f"'{claim.governing.text}' does not tell the {claim.element}"


# --- visibility ---


def visibility_reading(heard: Heard) -> VisibilityReading:
    """The lowest visibility, the smaller of prevailing and directional minimum."""
    known = [
        (worst_m, _BOUNDS_WORST_FIRST.index(_bound(said)), not claim.covers, said, claim.governing)
        for claim in heard.claims
        if (said := claim.said.visibility) is not None
        and (worst_m := said.worst_metres) is not None
    ]
    possible_metres = min(
        (
            remark.low_m
            for remark in _remarks(heard.claims)
            if remark.kind in _LOWER_VISIBILITY and remark.low_m is not None
        ),
        default=None,
    )
    if not known:
        return VisibilityReading(
            metres=None,
            bound=Bound.UNKNOWN,
            prevailing_metres=None,
            minimum_metres=None,
            possibly_worse=True,
            possible_metres=possible_metres,
            governing=heard.in_doubt,
        )
    metres, _, _, said, governing = min(known, key=lambda each: each[:3])
    return VisibilityReading(
        metres=metres,
        bound=_bound(said),
        prevailing_metres=said.metres,
        minimum_metres=said.minimum_metres,
        possibly_worse=bool(heard.doubts),
        possible_metres=possible_metres,
        governing=governing,
    )


def _bound(said: Visibility) -> Bound:
    """The bound of the smaller figure; a directional minimum is exact."""
    return said.bound if said.worst_metres == said.metres else Bound.EXACT


def _remarks(claims: Iterable[Claim]) -> Iterator[Remark]:
    for claim in claims:
        yield from claim.said.remarks


# --- ceiling ---


def ceiling_reading(heard: Heard) -> CeilingReading:
    """The lowest ceiling; with a doubt "no ceiling" is not known any more."""
    known = [
        (base_ft, not claim.covers, claim.governing)
        for claim in heard.claims
        if (base_ft := known_ceiling_ft(claim.said)) is not None
    ]
    doubtful = bool(heard.doubts)
    nothing = inf, True, heard.in_doubt
    lowest_ft, _, governing = min(known, key=lambda each: each[:2], default=nothing)
    if lowest_ft < inf:
        state = CeilingState.VALUE
    elif doubtful:
        state, governing = CeilingState.UNKNOWN, heard.in_doubt
    else:
        state = CeilingState.NONE
    return CeilingReading(
        state=state,
        feet=lowest_ft if state is CeilingState.VALUE else None,
        possibly_worse=doubtful,
        possible_ceiling_ft=min(_possible_ceilings(heard.claims), default=None),
        governing=governing,
    )


def known_ceiling_ft(said: Elements) -> float | None:
    """Height of the lowest layer that makes a ceiling; infinite if there is none, None if unknown.

    Where the ceiling as a whole is unknown, a layer of known height still bounds it from above.
    """
    if said.ceiling is None:
        return None
    if said.ceiling.state is CeilingState.NONE:
        return inf
    if said.ceiling.state is CeilingState.VALUE:
        return said.ceiling.feet
    return min(_ceiling_bases(said), default=None)


def _ceiling_bases(said: Elements) -> Iterator[float]:
    for layer in said.clouds or ():
        if layer.amount in CEILING_AMOUNTS and layer.base_ft is not None:
            yield layer.base_ft


def _possible_ceilings(claims: Iterable[Claim]) -> Iterator[float]:
    """Lower ceilings of remarks: variable, elsewhere on the field, a layer that grows."""
    for claim in claims:
        for remark in claim.said.remarks:
            if remark.kind in _LOWER_CEILING and remark.low_ft is not None:
                yield remark.low_ft
            elif remark.amounts is not None:
                yield from _variable_sky(remark, remark.amounts, claim.said)


def _variable_sky(
    remark: Remark, amounts: tuple[CloudAmount, CloudAmount], said: Elements
) -> Iterator[float]:
    """Height of a layer that varies to broken or overcast; without one, that of such layers."""
    if CEILING_AMOUNTS.isdisjoint(amounts):
        return
    if remark.low_ft is not None:
        yield remark.low_ft
        return
    for layer in said.clouds or ():
        if layer.amount in amounts and layer.base_ft is not None:
            yield layer.base_ft


# --- wind ---


def wind_readings(heard: Heard) -> tuple[WindReading, ...]:
    """Every wind of the window, strongest first; one unknown wind if none is known.

    A wind whose gust counts is as strong as its gust.
    """
    doubtful = bool(heard.doubts)
    winds = [
        WindReading(
            from_true_deg=said.from_true_deg,
            variable=said.variable,
            variation=said.variation,
            speed_kt=said.speed_kt,
            speed_bound=said.speed_bound,
            gust_kt=said.gust_kt,
            gust_bound=said.gust_bound,
            gust_counts=claim.gust_counts,
            possibly_worse=doubtful,
            governing=claim.governing,
        )
        for claim in heard.claims
        if (said := claim.said.wind) is not None and said.speed_kt is not None
    ]
    known = sorted(dict.fromkeys(winds), key=_strength_kt, reverse=True)
    return tuple(known) or (_unknown_wind(heard),)


def _strength_kt(wind: WindReading) -> tuple[float, float]:
    mean_kt = wind.speed_kt or 0.0
    gust_kt = wind.gust_kt or 0.0
    return max(mean_kt, gust_kt if wind.gust_counts else 0.0), gust_kt


def _unknown_wind(heard: Heard) -> WindReading:
    return WindReading(
        from_true_deg=None,
        variable=False,
        variation=None,
        speed_kt=None,
        speed_bound=Bound.UNKNOWN,
        gust_kt=None,
        gust_bound=Bound.UNKNOWN,
        gust_counts=True,
        possibly_worse=True,
        governing=heard.in_doubt,
    )


def wind_shear(heard: Heard) -> tuple[str, ...]:
    """Every wind shear group of the window, as reported."""
    return tuple(
        dict.fromkeys(shear.raw for claim in heard.claims for shear in claim.said.wind_shear)
    )


# --- weather ---


def weather_groups(heard: Heard) -> tuple[WeatherGroup, ...]:
    """Every weather group of the window, once."""
    return _once(group for claim in heard.claims for group in claim.said.weather or ())


def recent_groups(heard: Heard) -> tuple[WeatherGroup, ...]:
    """Every group of recent weather, once."""
    return _once(group for claim in heard.claims for group in claim.said.recent)


def _once(groups: Iterable[WeatherGroup]) -> tuple[WeatherGroup, ...]:
    return tuple({group.raw: group for group in groups}.values())


def thunderstorm(heard: Heard) -> bool | None:
    """Whether there is one, at the aerodrome or in its vicinity; None if nobody can say."""
    if any(group.thunderstorm for group in weather_groups(heard)):
        return True
    return _absent(heard, THUNDERSTORM_SENSOR)


def freezing_precipitation(heard: Heard) -> bool | None:
    """Whether there is any, precipitation of unknown kind in frost included."""
    states = [
        _freezes(group, claim.said) for claim in heard.claims for group in claim.said.weather or ()
    ]
    if any(states):
        return True
    return None if None in states else _absent(heard, FREEZING_RAIN_SENSOR)


def _freezes(group: WeatherGroup, said: Elements) -> bool | None:
    if group.freezing_precipitation:
        return True
    if UNKNOWN_PRECIPITATION not in group.phenomena:
        return False
    degc = said.temperature.temperature_degc if said.temperature else None
    return None if degc is None else degc <= FREEZING_DEGC


def _absent(heard: Heard, sensor: str) -> bool | None:
    """False if the absence of something can be relied on, else None."""
    blind = any(sensor in claim.unseen for claim in heard.claims)
    return None if blind or heard.doubts else False


def cumulonimbus(clouds: Heard, storm: bool | None) -> bool | None:
    """Whether there is any; a thunderstorm has one whether or not it was coded."""
    layers = [layer for claim in clouds.claims for layer in claim.said.clouds or ()]
    if storm or any(layer.convective is Convective.CB for layer in layers):
        return True
    typeless = any(layer.type_unknown for layer in layers)
    return None if storm is None or typeless or clouds.doubts else False


# --- what has no effect ---


def idle_improvements(heard: Heard, window: Window) -> Iterator[Disregarded]:
    """Overlays that are better than all of the main body beside them: they do not count."""
    main = [claim for claim in heard.claims if claim.main]
    for claim in heard.claims:
        value = _goodness(claim)
        if claim.main or value is None:
            continue
        here = claim.window & window
        beside = [_goodness(each) for each in main if here and each.window & here]
        if beside and all(each is not None and each < value for each in beside):
            yield Disregarded(
                text=claim.governing.text,
                why=f"a temporary improvement of the {heard.element} does not count",
            )


def _goodness(claim: Claim) -> float | None:
    if claim.element is Element.CLOUD:
        return known_ceiling_ft(claim.said)
    return claim.said.visibility.worst_metres if claim.said.visibility else None


def idle_gusts(winds: Sequence[WindReading]) -> Iterator[Disregarded]:
    """Gusts that the reading does not count."""
    for wind in winds:
        if wind.gust_kt is not None and not wind.gust_counts:
            yield Disregarded(
                text=wind.governing.text,
                why=f"the gust of {wind.gust_kt:.0f} kt may be disregarded for planning",
            )
