"""The page of a replay: Markdown and figures, the same bytes for the same rows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from msgspec import Struct

from decision.decide.decision import Verdict
from decision.sweep.told import NoneLeft
from decision.units import PERCENT
from service.charts import ChartAxis, Dot, Series, line_chart
from service.replay.network import Network
from service.replay.tally import AS_FUELLED, NOTHING, Season, Share, enough_kg

Count = Callable[[Share], int]

SHOWN: Final = 5  # failures in a figure, those that leave the fewest a way out
ENOUGH: Final = (0.95, 0.99)
MARKERS: Final = (
    Dot.CIRCLE,
    Dot.SQUARE,
    Dot.DIAMOND,
    Dot.TRIANGLE,
    Dot.CROSS,
)
VERDICTS: Final = (
    Verdict.GO,
    Verdict.GO_WITH_CAUTION,
    Verdict.NO_GO,
    Verdict.INSUFFICIENT_DATA,
)


class Study(Struct, frozen=True, kw_only=True):
    """What was replayed: of which network, over how many days, in which weather."""

    network: Network
    days: int
    weather: str
    command: str
    engine_version: str
    digest: str


def page_of(study: Study, season: Season) -> str:
    """The page, its figures beside it in `figures/`."""
    return "\n".join(_lines(study, season)).rstrip() + "\n"


def figures_of(season: Season) -> dict[str, str]:
    """Every figure of the page by its file name."""
    shown = season.failures[: SHOWN + 1]
    return {
        "replay-way-out.svg": _figure(
            season,
            shown,
            "Flights with a way out after a missed approach",
            lambda each: each.with_way_out,
        ),
        "replay-go.svg": _figure(
            season, shown, "Flights with a go, with caution or without", lambda each: each.go
        ),
    }


def _figure(season: Season, failures: Sequence[str], title: str, count: Count) -> str:
    series = []
    for marker, failure in zip((*MARKERS, Dot.NONE), failures, strict=False):
        points = (
            (fuel_kg, PERCENT * found.of(count(found)))
            for fuel_kg in season.fuels_kg
            for found in (season.by_failure[failure, fuel_kg],)
        )
        series.append(Series(label=failure, points=tuple(points), marker=marker))
    return line_chart(
        title=title,
        x=ChartAxis(name="fuel on board more than planned", unit="kg"),
        y=ChartAxis(name="share of flights", unit="%", low=0.0, high=100.0),
        series=series,
    )


def _lines(study: Study, season: Season) -> Iterator[str]:
    network, flights = study.network, season.by_failure[NOTHING, AS_FUELLED].flights
    yield "# A season replayed"
    yield ""
    yield f"Made by `{study.command}`; do not edit it."
    yield ""
    yield (
        f"What would failures have come to on {study.days} days of a network: {flights} flights,"
        f" each asked {network.track_nm:g} NM before its destination, with"
        f" {len(season.failures) - 1} failures that did not happen, one at a time, and with"
        f" {len(season.fuels_kg)} amounts of fuel. A flight has on board what it needs in fair"
        " weather to miss, to divert to its best alternate and to land with the final reserve, and"
        f" {network.reserve_kg:g} kg. Weather: {study.weather}. Network: {network.source}. Engine"
        f" {study.engine_version}, rulebook `{network.rulebook}`, profile `{network.profile}`;"
        f" cases {study.digest[:12]}."
    )
    yield ""
    yield (
        "**Advice only, and of invented things where it says so.** It shows what a fuel policy can"
        " be argued with, not what a policy should be: that takes an archive of real reports, a"
        " network that is flown, the operator's approved manuals and whoever answers for them."
    )
    yield from _by_failure(season)
    yield from _by_place(season)
    yield from _by_fuel(season)


def _by_failure(season: Season) -> Iterator[str]:
    yield from ("", "## Which failures turn it", "")
    yield (
        "Shares of the flights as they are fuelled, in %. No diversion: no course that keeps every"
        " rule ends elsewhere; it is known that each breaks one, or of one at least something is"
        " not known."
    )
    yield ""
    heads = ("failure", *VERDICTS, "no diversion: broken", "not known", "no way out after a miss")
    yield from _table(heads, [_row_of(season, each) for each in season.failures])


def _row_of(season: Season, failure: str) -> list[str]:
    share = season.by_failure[failure, AS_FUELLED]
    counts = (
        *(share.verdicts[each] for each in VERDICTS),
        share.none_left[NoneLeft.BROKEN],
        share.none_left[NoneLeft.NOT_KNOWN],
        share.no_way_out,
    )
    return [failure, *(_percent(share.of(each)) for each in counts)]


def _by_place(season: Season) -> Iterator[str]:
    yield from ("", "## Where", "")
    yield (
        "By destination: flights, how many of them are a plain GO or one with caution without any"
        " failure, how often a failure turns the verdict, and how often it leaves one place alone,"
        " with the place that is so most often. All failures together, as fuelled."
    )
    yield ""
    places = sorted({place for _, place in season.by_place})
    rows = [_row_of_place(season, each) for each in places]
    heads = ("destination", "flights", "go, %", "turned, %", "one place alone, %", "most often")
    yield from _table(heads, rows)


def _row_of_place(season: Season, place: str) -> list[str]:
    sound = season.by_place[NOTHING, place]
    failing = [season.by_place[each, place] for each in season.failures[1:]]
    asked = sum(each.flights for each in failing)
    turned = sum(season.turned[each, place] for each in season.failures[1:])
    alone = sum((each.only_places for each in failing), start=type(sound.only_places)())
    most = max(sorted(alone), key=lambda each: alone[each], default="none")
    return [
        place,
        str(sound.flights),
        _percent(sound.of(sound.go)),
        _percent(turned / asked if asked else 0.0),
        _percent(alone.total() / asked if asked else 0.0),
        most,
    ]


def _by_fuel(season: Season) -> Iterator[str]:
    yield from ("", "## What reserve buys", "")
    yield "![Flights with a way out after a missed approach](figures/replay-way-out.svg)"
    yield ""
    yield "![Flights with a go, with caution or without](figures/replay-go.svg)"
    yield ""
    enough = " and ".join(map(_whole, ENOUGH))
    yield (
        "Share of flights that have a way out after a missed approach, in %, by fuel on board more"
        f" than planned. Then the least of these amounts with which {enough} have one, of the"
        " flights that have one with nothing failed and the most fuel: the others lack weather, not"
        " fuel."
    )
    yield ""
    heads = (
        "failure",
        *(f"{_signed(each)} kg" for each in season.fuels_kg),
        *(f"for {_whole(each)}, kg" for each in ENOUGH),
    )
    yield from _table(heads, [_row_of_fuel(season, each) for each in season.failures])


def _row_of_fuel(season: Season, failure: str) -> list[str]:
    found = [season.by_failure[failure, each] for each in season.fuels_kg]
    enough = [enough_kg(season, failure, share=each) for each in ENOUGH]
    return [
        failure,
        *(_percent(each.of(each.with_way_out)) for each in found),
        *("none of these" if each is None else _signed(each) for each in enough),
    ]


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    yield f"| {' | '.join(heads)} |"
    yield "|" + " --- |" * len(heads)
    for row in rows:
        yield f"| {' | '.join(row)} |"


def _percent(share: float) -> str:
    return f"{PERCENT * share:.1f}"


def _whole(share: float) -> str:
    return f"{PERCENT * share:.0f} %"


def _signed(kg: float) -> str:
    return f"{kg:+.0f}" if kg else "0"
