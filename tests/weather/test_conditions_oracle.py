"""Windows against a slow and obvious reading: minute by minute, merged by hand, worst kept.

The oracle knows nothing of claims or windows. It walks the generated groups for each minute as
[EU-AO-FORECAST] tells them, and the real thing reads the text of the same groups. What was seen is
put beside them in the words of the semantics: it is heard in a window that begins within two hours
of it, until a named group has improved on it, and the worse of all that is heard counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.weather.conditions import outlook, timeline
from decision.weather.readings import NotAtHand, WeatherMet
from decision.weather.report import CeilingState, Element
from decision.weather.spots import SpotObservation
from decision.weather.use import Reading
from decision.windows import Window
from tests.changing import replace
from tests.weather.conditions_builders import at, met, see, station

START = at("090600")
HOURS = 12
STEP = timedelta(minutes=10)
VISIBILITIES = (200, 800, 1500, 3000, 6000)
BASES = (100, 300, 800, 1500, 3000, None)  # None: no ceiling
LASTING, SHOWERY = ("BR", "-RA", "FG", "SN"), ("TSRA", "SHRA", "VCTS")


@dataclass(frozen=True, kw_only=True)
class Group:
    """One generated group; None: it does not name the element."""

    kind: str
    start: datetime
    end: datetime
    visibility: int | None
    base: int | str | None  # "unnamed": the group has no cloud
    weather: tuple[str, ...]
    wind: tuple[int, int, int | None]  # direction, speed, gust
    names_wind: bool = True

    @property
    def words(self) -> str:
        """The elements in the words of a report."""
        direction, speed, gust = self.wind
        said = [f"{direction:03d}{speed:02d}{f'G{gust:02d}' if gust else ''}KT"]
        if not self.names_wind:
            said = []
        if self.visibility is not None:
            said.append(f"{self.visibility:04d}")
        said += self.weather
        if self.base != "unnamed":
            said.append("SCT040" if self.base is None else f"BKN{int(self.base) // 100:03d}")
        return " ".join(said)

    @property
    def text(self) -> str:
        if self.kind == "BASE":
            return self.words
        if self.kind == "FM":
            return f"FM{self.start:%d%H%M} {self.words}"
        return f"{self.kind} {self.start:%d%H}/{self.end:%d%H} {self.words}"

    @property
    def ceiling(self) -> float:
        return inf if self.base in (None, "unnamed") else float(self.base)


def raw(groups: Sequence[Group]) -> str:
    end = START + timedelta(hours=HOURS)
    return f"TAF XABC 090500Z {START:%d%H}/{end:%d%H} {' '.join(group.text for group in groups)}"


# --- the oracle ---


@dataclass(frozen=True)
class Minute:
    visibility: float
    ceiling: float
    winds: frozenset[tuple[int, int, int | None]]
    weather: frozenset[str]


def prevailing(groups: Sequence[Group], t: datetime, field: str) -> list[Group]:
    """The groups whose value of a field may prevail at an instant."""
    fulls = [group for group in groups if group.kind in ("BASE", "FM") and group.start <= t]
    head = max(fulls, key=lambda group: group.start)
    candidates = [head]
    for group in sorted(
        (g for g in groups if g.kind == "BECMG" and head.start <= g.start <= t and names(g, field)),
        key=lambda g: g.start,
    ):
        if t < group.end:
            candidates.append(group)
        else:
            running = [g for g in candidates if g.kind == "BECMG" and t < g.end]
            candidates = [*running, group]
    return candidates


def names(group: Group, field: str) -> bool:
    match field:
        case "visibility":
            return group.visibility is not None
        case "ceiling":
            return group.base != "unnamed"
        case "wind":
            return group.names_wind
        case _:
            return bool(group.weather)


def counts(group: Group, reading: Reading) -> bool:
    """Whether an overlay is applicable."""
    if reading is Reading.CONDITIONAL:
        return True
    if group.kind == "PROB30 TEMPO":
        return False
    return not group.weather or any(word in LASTING for word in group.weather)


def minute(groups: Sequence[Group], t: datetime, reading: Reading) -> Minute:
    overlays = [
        group
        for group in groups
        if group.kind in ("TEMPO", "PROB30", "PROB30 TEMPO")
        and group.start <= t < group.end
        and counts(group, reading)
    ]

    def saying(field: str) -> list[Group]:
        return [*prevailing(groups, t, field), *(g for g in overlays if names(g, field))]

    return Minute(
        min(float(group.visibility or 0) for group in saying("visibility")),
        min(group.ceiling for group in saying("ceiling")),
        frozenset(group.wind for group in saying("wind")),
        frozenset(word for group in saying("weather") for word in group.weather),
    )


def expected(groups: Sequence[Group], over: Window, reading: Reading) -> Minute:
    if not groups:
        return Minute(inf, inf, frozenset(), frozenset())
    minutes: list[Minute] = []
    t = over.start_at
    while t < over.end_at:
        minutes.append(minute(groups, t, reading))
        t += STEP
    return Minute(
        min(each.visibility for each in minutes),
        min(each.ceiling for each in minutes),
        frozenset().union(*(each.winds for each in minutes)),
        frozenset().union(*(each.weather for each in minutes)),
    )


# --- the generator ---

winds = st.tuples(
    st.sampled_from((90, 240, 310)), st.sampled_from((5, 12, 25)), st.sampled_from((None, 40, 55))
)
weathers = st.one_of(
    st.just(()),
    st.sampled_from([(word,) for word in (*LASTING, *SHOWERY)]),
    st.sampled_from([("TSRA", "BR"), ("SHRA", "FG")]),
)


@st.composite
def full_sets(draw: st.DrawFn, kind: str, start: datetime) -> Group:
    return Group(
        kind=kind,
        start=start,
        end=START + timedelta(hours=HOURS),
        visibility=draw(st.sampled_from(VISIBILITIES)),
        base=draw(st.sampled_from(BASES)),
        weather=draw(weathers),
        wind=draw(winds),
    )


@st.composite
def partial_sets(draw: st.DrawFn) -> Group:
    kind = draw(st.sampled_from(("BECMG", "BECMG", "TEMPO", "PROB30", "PROB30 TEMPO")))
    start = draw(st.integers(0, HOURS - 2))
    length = draw(st.integers(1, min(4, HOURS - start)))
    group = Group(
        kind=kind,
        start=START + timedelta(hours=start),
        end=START + timedelta(hours=start + length),
        visibility=draw(st.one_of(st.none(), st.sampled_from(VISIBILITIES))),
        base=draw(st.one_of(st.just("unnamed"), st.sampled_from(BASES))),
        weather=draw(weathers),
        wind=draw(winds),
        names_wind=draw(st.booleans()),
    )
    return group if group.words else replace(group, names_wind=True)


@st.composite
def forecasts(draw: st.DrawFn) -> list[Group]:
    base = draw(full_sets("BASE", START))
    starts = draw(st.lists(st.integers(1, HOURS * 6 - 1), max_size=2, unique=True))
    later = [draw(full_sets("FM", START + STEP * each)) for each in sorted(starts)]
    others = draw(st.lists(partial_sets(), max_size=4))
    return [base, *sorted([*later, *others], key=lambda group: group.start)]


@st.composite
def windows(draw: st.DrawFn) -> Window:
    first = draw(st.integers(0, HOURS * 6 - 1))
    last = draw(st.integers(first + 1, min(first + 18, HOURS * 6)))
    return Window(START + STEP * first, START + STEP * last)


readings = st.sampled_from(Reading)


def seen(text: str, over: Window, reading: Reading) -> WeatherMet:
    return see(text, as_of="090530", over=over, reading=reading)


@given(forecasts(), windows(), readings)
def test_a_window_is_the_worst_of_its_minutes(
    groups: list[Group], over: Window, reading: Reading
) -> None:
    real, hand = seen(raw(groups), over, reading), expected(groups, over, reading)
    assert not real.unknown
    assert real.visibility.metres == hand.visibility
    assert (real.ceiling.feet or inf) == hand.ceiling
    assert {(each.from_true_deg, each.speed_kt, each.gust_kt) for each in real.winds} == hand.winds
    assert set(real.phenomena) == hand.weather
    assert real.thunderstorm is any("TS" in word for word in hand.weather)
    assert real.visibility.governing.text in raw(groups)


@given(forecasts(), windows(), readings)
def test_a_timeline_tiles_its_span_and_is_never_worse_than_the_whole(
    groups: list[Group], over: Window, reading: Reading
) -> None:
    weather = station(raw(groups), as_of="090530")
    segments = timeline(weather, over, as_of=at("090530"), reading=reading)
    whole = seen(raw(groups), over, reading)
    assert segments[0].window.start_at == over.start_at
    assert segments[-1].window.end_at == over.end_at
    parts = [segment.conditions for segment in segments]
    assert whole.visibility.metres == min(part.visibility.metres or inf for part in parts)
    assert set(whole.phenomena) == {word for part in parts for word in part.phenomena}
    for segment in segments:
        first_minute = Window(segment.window.start_at, segment.window.start_at + STEP / 10)
        assert seen(raw(groups), first_minute, reading).winds == segment.conditions.winds


@st.composite
def any_windows(draw: st.DrawFn) -> Window:
    """To the second, on the moments of groups or between them, and beyond the forecast too."""
    seconds = st.one_of(
        st.integers(-2 * 3600, (HOURS + 2) * 3600),
        st.integers(-12, HOURS * 6 + 12).map(lambda each: each * round(STEP.total_seconds())),
    )
    first, last = sorted(draw(st.lists(seconds, min_size=2, max_size=2, unique=True)))
    return Window(START + timedelta(seconds=first), START + timedelta(seconds=last))


SPOKEN = SpotObservation(at=at("090530"), qnh_hpa=1010.0, visibility_m=2500.0)
OBSERVED = "METAR XABC 090520Z 24012G25KT 3000 R27/0900 -RA BKN008 10/09 Q1009 TEMPO 1200"


@given(forecasts(), st.booleans(), st.lists(any_windows(), min_size=2, max_size=8), readings)
def test_what_was_asked_before_changes_no_answer(
    groups: list[Group], observed: bool, asked: list[Window], reading: Reading
) -> None:
    """One outlook asked for all, against one of its own for each."""
    texts = (raw(groups), OBSERVED) if observed else (raw(groups),)
    weather = station(*texts, as_of="090530")
    spots = (SPOKEN,) if observed else ()
    shared = outlook(weather, as_of=at("090530"), reading=reading, spots=spots)
    for over in asked:
        own = outlook(weather, as_of=at("090530"), reading=reading, spots=spots)
        assert shared.over(over) == own.over(over)


# --- what must never be better ---


def is_no_better(after: WeatherMet, before: WeatherMet) -> bool:
    """Every minimum that is met now was met before, and nothing bad has gone out of sight."""
    return (
        met(after.visibility) <= met(before.visibility)
        and met(after.ceiling) <= met(before.ceiling)
        and not (before.thunderstorm and after.thunderstorm is False)
        and not (before.thunderstorm is None and after.thunderstorm is False)
    )


def worsened(groups: Sequence[Group], index: int) -> list[Group]:
    """The same forecast with the figures of one group brought down."""
    group = groups[index]
    base = group.base
    worse = replace(
        group,
        visibility=None if group.visibility is None else 100,
        base=base if base == "unnamed" else 100,
    )
    return [*groups[:index], worse, *groups[index + 1 :]]


@given(forecasts(), windows(), readings, st.data())
def test_worse_text_never_gives_better_conditions(
    groups: list[Group], over: Window, reading: Reading, data: st.DataObject
) -> None:
    index = data.draw(st.integers(0, len(groups) - 1))
    before = seen(raw(groups), over, reading)
    after = seen(raw(worsened(groups, index)), over, reading)
    assert is_no_better(after, before)


@given(forecasts(), windows(), readings, st.data())
def test_an_unreadable_word_never_gives_better_conditions(
    groups: list[Group], over: Window, reading: Reading, data: st.DataObject
) -> None:
    words = raw(groups).split()
    place = data.draw(st.integers(4, len(words)))
    word = data.draw(st.sampled_from(("BKN01", "40000", "XYZZY", "TSX", "//", "BEMMG")))
    after = seen(" ".join([*words[:place], word, *words[place:]]), over, reading)
    assert is_no_better(after, seen(raw(groups), over, reading))


# --- with an observation ---


@dataclass(frozen=True, kw_only=True)
class Seen:
    """One generated observation; the trend is a forecast of two hours with it as its base."""

    at: datetime
    body: Group
    trend: tuple[Group, ...]
    nosig: bool = False

    @property
    def text(self) -> str:
        told = [self.body.words, "08/07 Q1013", *(_in_trend(group) for group in self.trend)]
        return f"METAR XABC {self.at:%d%H%M}Z {' '.join(told)}{' NOSIG' if self.nosig else ''}"

    @property
    def has_trend(self) -> bool:
        return self.nosig or bool(self.trend)


def _in_trend(group: Group) -> str:
    if group.start == group.end:
        return f"{group.kind} AT{group.start:%H%M} {group.words}"
    return f"{group.kind} FM{group.start:%H%M} TL{group.end:%H%M} {group.words}"


def counts_from(group: Group, groups: Sequence[Group]) -> datetime | None:
    """From when a group improves: FM and BECMG AT from their time, other BECMG from their end."""
    if group.kind == "FM":
        return group.start
    if group.kind != "BECMG":
        return None
    overtaken = any(
        other.kind == "FM" and group.start < other.start < group.end for other in groups
    )
    return None if overtaken else group.end


def value(group: Group, field: str) -> float:
    return float(group.visibility or 0) if field == "visibility" else group.ceiling


def lifted(seen: Seen, groups: Sequence[Group], field: str) -> datetime | None:
    """When a named group first improves on what was seen."""
    times = []
    for source, since in ((groups, seen.at + STEP), (seen.trend, seen.at)):
        for group in source:
            at_ = counts_from(group, source)
            if at_ is not None and at_ >= since and at_ < START + timedelta(hours=HOURS):
                better = names(group, field) and value(group, field) > value(seen.body, field)
                times += [at_] if better else []
    return min(times, default=None)


def heard(seen: Seen, groups: Sequence[Group], over: Window, field: str) -> bool:
    """Whether what was seen still speaks in a window."""
    until = lifted(seen, groups, field)
    within = over.start_at < seen.at + timedelta(hours=2)
    return within and (until is None or over.start_at < until)


def with_seen(
    seen: Seen, groups: Sequence[Group], over: Window, reading: Reading
) -> tuple[float, float]:
    """Visibility and ceiling of a window: the worse of report, trend and forecast."""
    foretold = expected(groups, over, reading)
    lows = [[foretold.visibility], [foretold.ceiling]]
    for low, field in zip(lows, ("visibility", "ceiling"), strict=True):
        if heard(seen, groups, over, field):
            low.append(value(seen.body, field))
    t = over.start_at
    ends = min(over.end_at, seen.at + timedelta(hours=2))
    while seen.has_trend and t < ends:
        told = minute((replace(seen.body, start=seen.at), *seen.trend), t, reading)
        lows[0].append(told.visibility)
        lows[1].append(told.ceiling)
        t += STEP
    return min(lows[0]), min(lows[1])


@st.composite
def observed(draw: st.DrawFn, *, trends: bool = True) -> Seen:
    """An observation of the last fifty minutes, on the step of the oracle."""
    at_ = START + timedelta(hours=1) - STEP * draw(st.integers(0, 5))
    body = draw(full_sets("BASE", at_))
    groups = draw(st.lists(trend_groups(at_), max_size=2)) if trends else []
    ordered = tuple(sorted(groups, key=lambda group: group.start))
    return Seen(
        at=at_, body=body, trend=ordered, nosig=trends and not groups and draw(st.booleans())
    )


@st.composite
def trend_groups(draw: st.DrawFn, seen_at: datetime) -> Group:
    kind = draw(st.sampled_from(("BECMG", "BECMG", "BECMG", "TEMPO")))
    first = draw(st.integers(0, 11))
    last = draw(st.integers(first if kind == "BECMG" else first + 1, 12))
    return Group(
        kind=kind,
        start=seen_at + STEP * first,
        end=seen_at + STEP * last,
        visibility=draw(st.sampled_from(VISIBILITIES)),
        base=draw(st.one_of(st.just("unnamed"), st.sampled_from(BASES))),
        weather=draw(weathers),
        wind=draw(winds),
        names_wind=False,
    )


@st.composite
def near_windows(draw: st.DrawFn) -> Window:
    """Windows to three hours ahead of the present, short ones mostly."""
    first = draw(st.integers(6, 24))
    last = draw(st.integers(first + 1, first + 4))
    return Window(START + STEP * first, START + STEP * last)


NOW = f"{START + timedelta(hours=1):%d%H%M}"


@given(forecasts(), near_windows(), readings, observed())
def test_a_window_is_the_worse_of_report_trend_and_forecast(
    groups: list[Group], over: Window, reading: Reading, seen: Seen
) -> None:
    real = see(seen.text, raw(groups), as_of=NOW, over=over, reading=reading)
    visibility, ceiling = with_seen(seen, groups, over, reading)
    assert not real.unknown
    assert real.visibility.metres == visibility
    assert (real.ceiling.feet or inf) == ceiling


@given(forecasts(), near_windows(), readings, observed())
def test_an_improvement_is_named_and_lifts_what_it_improves(
    groups: list[Group], over: Window, reading: Reading, seen: Seen
) -> None:
    """Each lifting of the oracle that lies ahead is among the named groups, with its words."""
    real = see(seen.text, raw(groups), as_of=NOW, over=over, reading=reading)
    ahead = over.end_at + timedelta(hours=3)
    for field, element in (("visibility", Element.VISIBILITY), ("ceiling", Element.CLOUD)):
        until = lifted(seen, groups, field)
        if until is not None and over.start_at < until <= ahead:
            assert any(each.at == until and element in each.elements for each in real.improvements)
    said = f"{seen.text} {raw(groups)}"
    assert all(each.text in said for each in real.improvements)
    assert all(over.start_at < each.at <= ahead for each in real.improvements)
    minima_only = frozenset({Element.VISIBILITY, Element.CLOUD})
    assert not any(
        each.elements & minima_only
        for each in real.improvements
        if "TEMPO" in each.text or "PROB" in each.text
    )


@given(forecasts(), near_windows(), readings, observed(trends=False), st.integers(1, 5))
def test_the_same_words_at_a_newer_time_are_nowhere_better(
    groups: list[Group], over: Window, reading: Reading, seen: Seen, steps: int
) -> None:
    later = replace(seen, at=min(seen.at + STEP * steps, START + timedelta(hours=1)))
    once = see(seen.text, raw(groups), as_of=NOW, over=over, reading=reading)
    again = see(later.text, raw(groups), as_of=NOW, over=over, reading=reading)
    assert is_no_better(again, once)
    both = see(seen.text, later.text, raw(groups), as_of=NOW, over=over, reading=reading)
    assert both.visibility.metres == again.visibility.metres
    assert both.ceiling.feet == again.ceiling.feet


@given(forecasts(), near_windows(), readings, observed(), st.data())
def test_two_reports_of_one_minute_are_the_worse_of_each_element(
    groups: list[Group], over: Window, reading: Reading, seen: Seen, data: st.DataObject
) -> None:
    other = replace(data.draw(observed()), at=seen.at, trend=(), nosig=False)
    texts = [seen.text, other.text.replace("08/07 Q1013", "11/07 Q1009")]
    alone = [see(each, raw(groups), as_of=NOW, over=over, reading=reading) for each in texts]
    pairs = [
        see(*order, raw(groups), as_of=NOW, over=over, reading=reading)
        for order in (texts, texts[::-1], [*texts, texts[0]])
    ]
    assert pairs[0] == pairs[1] == pairs[2]
    both = pairs[0]
    assert met(both.visibility) == met(alone[0].visibility) & met(alone[1].visibility)
    assert met(both.ceiling) == met(alone[0].ceiling) & met(alone[1].ceiling)
    assert set(both.winds) == {wind for each in alone for wind in each.winds}
    assert set(both.phenomena) == {word for each in alone for word in each.phenomena}
    if over.start_at <= seen.at + timedelta(hours=3):
        assert (both.temperature_degc, both.qnh_hpa, both.qnh_high_hpa) == (11.0, 1009.0, 1013.0)


@given(forecasts(), near_windows(), readings, observed())
def test_without_the_forecast_a_window_near_the_report_is_the_report_and_a_later_one_is_not_known(
    groups: list[Group], over: Window, reading: Reading, seen: Seen
) -> None:
    """No adverse forecast is good weather when it is gone: what is missing is said every time."""
    left = see(seen.text, as_of=NOW, over=over, reading=reading)
    covered = timedelta(hours=2) if seen.has_trend else timedelta(hours=1)
    assert NotAtHand.NO_FORECAST in left.not_at_hand
    if over.end_at > seen.at + covered:
        assert (met(left.visibility), met(left.ceiling)) == (frozenset(), frozenset())
        return
    visibility, ceiling = with_seen(seen, (), over, reading)
    assert not left.unknown
    assert (left.visibility.metres, left.ceiling.feet or inf) == (visibility, ceiling)
    both = see(seen.text, raw(groups), as_of=NOW, over=over, reading=reading)
    assert NotAtHand.NO_FORECAST not in both.not_at_hand


@given(forecasts(), near_windows(), readings)
def test_without_the_report_a_window_is_the_forecast_and_nothing_is_reported(
    groups: list[Group], over: Window, reading: Reading
) -> None:
    left = see(raw(groups), as_of=NOW, over=over, reading=reading)
    assert left.visibility.metres == expected(groups, over, reading).visibility
    assert left.reported == ()
    assert (NotAtHand.NO_OBSERVATION in left.not_at_hand) is (
        over.start_at < at(NOW) + timedelta(hours=2, minutes=15)
    )
    nothing = see(as_of=NOW, over=over, reading=reading)
    assert (nothing.visibility.metres, nothing.ceiling.state) == (None, CeilingState.UNKNOWN)
    assert NotAtHand.NO_FORECAST in nothing.not_at_hand


@pytest.mark.parametrize("age_min", range(0, 120, 5))
def test_the_ageing_of_a_bad_observation_makes_it_heard_neither_longer_nor_shorter(
    age_min: int,
) -> None:
    raw_text = "METAR XABC 090700Z 24003KT 0200 FG VV001 08/08 Q1013"
    fine = "TAF XABC 090500Z 0906/0918 24008KT 9999 SCT030"
    as_of = at("090700") + timedelta(minutes=age_min)
    heard = [
        minutes
        for minutes in range(age_min, 180, 5)
        if see(
            raw_text,
            fine,
            as_of=f"{as_of:%d%H%M}",
            over=Window(at("090700") + timedelta(minutes=minutes), at("091100")),
        ).visibility.metres
        == 200.0
    ]
    assert heard == list(range(age_min, 120, 5))
