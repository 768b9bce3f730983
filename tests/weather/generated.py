"""Reports made from a model: what they say is known before anything decodes them."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import strategies as st

M_PER_MILE = 1609.344
KT_PER = {"KT": 1.0, "MPS": 1.0 / 0.514444444, "KMH": 1.0 / 1.852}


@dataclass(frozen=True)
class Part:
    """One element of a report: its words, and what they mean under short names."""

    words: str
    means: dict[str, object]


@dataclass(frozen=True)
class Model:
    """One report body, as parts in the order of the text."""

    parts: tuple[Part, ...]

    @property
    def body(self) -> str:
        return " ".join(part.words for part in self.parts if part.words)

    @property
    def means(self) -> dict[str, object]:
        return {name: value for part in self.parts for name, value in part.means.items()}

    def without(self, index: int) -> Model:
        return Model(self.parts[:index] + self.parts[index + 1 :])


@st.composite
def winds(draw: st.DrawFn) -> Part:
    unit = draw(st.sampled_from(sorted(KT_PER)))
    speed = draw(st.integers(0, 140))
    gust = draw(st.none() | st.integers(speed, 199))
    direction = draw(st.sampled_from(["VRB", *(f"{d:03d}" for d in range(0, 361, 10))]))
    words = f"{direction}{speed:02d}{'' if gust is None else f'G{gust:02d}'}{unit}"
    return Part(
        words,
        {
            "from": None if direction == "VRB" else float(direction),
            "variable": direction == "VRB",
            "speed": speed * KT_PER[unit],
            "gust": None if gust is None else gust * KT_PER[unit],
        },
    )


@st.composite
def metric_visibilities(draw: st.DrawFn) -> Part:
    metres = draw(
        st.sampled_from([*range(50, 800, 50), *range(800, 5000, 100), *range(5000, 9999, 1000)])
        | st.just(9999)
        | st.just(0)
    )
    value = 10_000.0 if metres == 9999 else float(metres)
    bound = {9999: ">=", 0: "<"}.get(metres, "=")
    least = draw(st.none() | st.sampled_from(range(50, 1500, 50)))
    if least is None or least >= value:
        return Part(f"{metres:04d}", {"visibility": value, "bound": bound, "least": value})
    direction = draw(st.sampled_from(["N", "NE", "E", "SE", "S", "SW", "W", "NW"]))
    return Part(
        f"{metres:04d} {least:04d}{direction}",
        {"visibility": value, "bound": bound, "least": float(least)},
    )


@st.composite
def mile_visibilities(draw: st.DrawFn) -> Part:
    whole = draw(st.integers(0, 3))
    fraction = draw(st.sampled_from([(0, 1), (1, 2), (1, 4), (3, 4), (1, 8), (5, 8), (1, 16)]))
    prefix = draw(st.sampled_from(["", "", "M", "P"]))
    joint = draw(st.sampled_from([" ", ""])) if fraction[1] < 10 and not prefix else " "
    miles = whole + fraction[0] / fraction[1]
    if not fraction[0]:
        words = f"{prefix}{whole}SM"
    elif not whole:
        words = f"{prefix}{fraction[0]}/{fraction[1]}SM"
    else:
        prefix = ""
        words = f"{whole}{joint}{fraction[0]}/{fraction[1]}SM"
    bound = {"": "=", "M": "<", "P": ">"}[prefix]
    metres = miles * M_PER_MILE
    return Part(words, {"visibility": metres, "bound": bound, "least": metres})


def blank(name: str, words: str) -> st.SearchStrategy[Part]:
    return st.just(Part(words, {name: None}))


visibilities = metric_visibilities() | mile_visibilities() | blank("visibility", "////")


@st.composite
def rvrs(draw: st.DrawFn) -> Part:
    runways = draw(st.lists(st.sampled_from(["09L", "09R", "27", "18C"]), max_size=3, unique=True))
    words, lows = [], []
    for runway in runways:
        low, feet = draw(st.sampled_from(range(50, 2050, 50))), draw(st.booleans())
        high = draw(st.none() | st.sampled_from(range(2100, 6050, 50)))
        prefix = draw(st.sampled_from(["", "P", "M"])) if high is None else ""
        tail = ("FT" if feet else "") + draw(st.sampled_from(["", "/U", "D", "N"]))
        words.append(f"R{runway}/{prefix}{low:04d}{'' if high is None else f'V{high:04d}'}{tail}")
        lows.append(low * (0.3048 if feet else 1.0))
    return Part(" ".join(words), {"rvr": lows})


PHENOMENA = ["RA", "SN", "DZ", "PL", "GR", "UP"]
OBSCURATIONS = ["BR", "FG", "HZ", "FU", "BLSN", "DRSN", "FZFG", "MIFG", "VCSH", "VCTS", "TS", "SQ"]


@st.composite
def weathers(draw: st.DrawFn) -> Part:
    precipitation = draw(st.lists(st.sampled_from(PHENOMENA), max_size=3, unique=True))
    descriptor = draw(st.sampled_from(["", "", "TS", "SH", "FZ"]))
    intensity = draw(st.sampled_from(["", "-", "+"]))
    groups = [intensity + descriptor + "".join(precipitation)] if precipitation else []
    groups += draw(st.lists(st.sampled_from(OBSCURATIONS), max_size=2, unique=True))
    return Part(
        " ".join(groups),
        {
            "weather": groups,
            "thunderstorm": any("TS" in group for group in groups),
            "freezing": any("FZ" in group and group != "FZFG" for group in groups),
        },
    )


@st.composite
def clouds(draw: st.DrawFn) -> Part:
    bases = sorted(draw(st.lists(st.integers(0, 250), min_size=1, max_size=4)))
    groups, ceilings, known = [], [], True
    for base in bases:
        amount = draw(st.sampled_from(["FEW", "SCT", "BKN", "OVC"]))
        height = "///" if draw(st.integers(0, 9)) == 0 else f"{base:03d}"
        groups.append(amount + height + draw(st.sampled_from(["", "", "", "CB", "TCU"])))
        if amount in ("BKN", "OVC"):
            ceilings.append(base * 100.0)
            known = known and height != "///"
    return Part(
        " ".join(groups),
        {
            "state": "unknown" if not known else "value" if ceilings else "none",
            "ceiling": min(ceilings) if known and ceilings else None,
            "cb": any(group.endswith("CB") for group in groups),
        },
    )


skies = clouds() | st.sampled_from(
    [
        Part("VV003", {"state": "value", "ceiling": 300.0, "cb": False}),
        Part("VV///", {"state": "unknown", "ceiling": None, "cb": False}),
        Part("NSC", {"state": "none", "ceiling": None, "cb": False}),
        Part("NCD", {"state": "none", "ceiling": None, "cb": False}),
        Part("//////", {"state": "unknown", "ceiling": None, "cb": False}),
        Part("///010", {"state": "unknown", "ceiling": None, "cb": False}),
    ]
)


def _celsius(value: int) -> str:
    return f"M{-value:02d}" if value < 0 else f"{value:02d}"


temperatures = st.builds(
    lambda air, spread: Part(f"{_celsius(air)}/{_celsius(air - spread)}", {"air": float(air)}),
    st.integers(-40, 45),
    st.integers(0, 20),
)
pressures = st.integers(870, 1085).map(lambda hpa: Part(f"Q{hpa:04d}", {"qnh": float(hpa)}))

observations = st.builds(
    lambda *parts: Model(parts),
    winds(),
    visibilities,
    rvrs(),
    weathers(),
    skies,
    temperatures,
    pressures,
)
"""Bodies of observations: wind, visibility, RVR, weather, sky, temperature, pressure."""

period_bodies = st.builds(lambda *parts: Model(parts), winds(), visibilities, weathers(), skies)
"""Bodies of prevailing forecast groups."""


@st.composite
def forecasts(draw: st.DrawFn) -> tuple[str, list[tuple[str, Model]]]:
    """A forecast from 25th 12 Z to 26th 18 Z: its text, and keyword and body of each group."""
    groups = [("", draw(period_bodies))]
    text = f"TAF XABC 251100Z 2512/2618 {groups[0][1].body}"
    for _ in range(draw(st.integers(0, 4))):
        start = draw(st.integers(12, 40))
        end = draw(st.integers(start + 1, 42))
        span = f"{_day_hour(start)}/{_day_hour(end)}"
        keyword = draw(
            st.sampled_from(
                ["BECMG", "TEMPO", "INTER", "PROB30", "PROB40 TEMPO", "PROB30 INTER", "FM"]
            )
        )
        head = f"FM{_day_hour(start)}00" if keyword == "FM" else f"{keyword} {span}"
        body = draw(period_bodies)
        groups.append((head, body))
        text += f" {head} {body.body}"
    return text, groups


def _day_hour(hours: int) -> str:
    return f"{25 + hours // 24:02d}{hours % 24:02d}"


trends = st.sampled_from(
    [
        "NOSIG",
        "BECMG FM1200 TL1300 0300 FG VV001",
        "TEMPO TSRA BKN003CB",
        "BECMG AT1230 9999 NSW NSC",
        "PROB30 TEMPO 1200/1400 0200 FZRA",
    ]
)
