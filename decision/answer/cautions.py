"""Cautions in words: what is said of each concern, the gravest first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from decision.answer.types import Caution
from decision.answer.words import sentence
from decision.case import Fetched
from decision.decide.concerns import HAZARD, Concern
from decision.rules.finding import shown, shown_down, shown_up
from decision.systems import Weight
from decision.units import PERCENT, S_PER_MIN
from decision.weather.readings import NotAtHand

HEAVIEST_FIRST: Final = tuple(Weight)[::-1]
QUOTED_LETTERS: Final = 60  # so much of a report that is not used tells which one it is


def cautions_told(concerns: Iterable[Concern]) -> tuple[Caution, ...]:
    """By weight, in the order in which the concerns come; each code and text once."""
    cautions = map(_caution, concerns)
    unique = {(caution.code, caution.text): caution for caution in cautions}
    return tuple(sorted(unique.values(), key=lambda each: HEAVIEST_FIRST.index(each.weight)))


def _caution(concern: Concern) -> Caution:
    return Caution(
        code=concern.code,
        text=concern.words or WORDS[_kind(concern)](concern),
        weight=concern.weight,
        because=concern.because or tuple(map(_aged, concern.fetched)),
    )


def _kind(concern: Concern) -> str:
    return HAZARD if concern.code.startswith(HAZARD) else concern.code


def _places(concern: Concern) -> str:
    return ", ".join(concern.at)


def _miss_likely(concern: Concern) -> str:
    figures = concern.figures
    return (
        f"Missed approach likely: ceiling {shown(figures['ceiling_ft'], 'ft')} at "
        f"{_places(concern)} is below the minimum height of {shown(figures['height_ft'], 'ft')}."
    )


def _engine_out_margin_lost(concern: Concern) -> str:
    gradient = shown(concern.figures["gradient_percent"], "percent")
    return (
        f"No margin for an engine failure in the missed approach at {_places(concern)}: "
        f"{gradient} against {shown(concern.figures['charted_percent'], 'percent')} charted."
    )


def _no_climb_there(concern: Concern) -> str:
    climb = shown_down(concern.figures["climb_percent"], "percent")
    published = shown(concern.figures["published_percent"], "percent")
    return f"Missing the approach at {_places(concern)} too: climb {climb}, asked for {published}."


def _fresh_report_needed(concern: Concern) -> str:
    return (
        f"The report of {_places(concern)} will be {concern.figures['old_min']:.0f} min old at the "
        f"minimum: get one not older than {concern.figures['limit_min']:.0f} min before the gear "
        "goes down."
    )


def _state_carried(concern: Concern) -> str:
    along, *lost = concern.quotes
    age, limit = concern.figures["age_min"], concern.figures["limit_min"]
    told = (
        f"The state of the aircraft is {shown_up(age, 'min')} old and was carried on, {along}; "
        "nobody has told it since"
    )
    if lost:
        return f"{told}. It cannot be told any more: {lost[0]}."
    return f"{told}." if age <= limit else f"{told}; nothing is decided on it after {limit:g} min."


def _runway_will_be_blocked(concern: Concern) -> str:
    told = "The aircraft may stop on the runway and block it until it is towed; tell the tower "
    if not concern.at:
        return f"{told}early."
    return f"{told}early. At {_places(concern)} nobody else may be able to land until then."


def _wind_of_nearest_level(concern: Concern) -> str:
    ((end, end_ft),) = concern.figures.items()
    word = "above" if end == "highest_ft" else "below"
    return (
        f"No wind is given {word} {end_ft:.0f} ft, and cruise to {_places(concern)} is {word} it: "
        f"the wind of {end_ft:.0f} ft was taken."
    )


def _reports_differ(concern: Concern) -> str:
    clock, *raw = concern.quotes
    return (
        f"Reports of {_places(concern)} of {clock} differ, the worse of each element counts: "
        f"{' | '.join(raw)}"
    )


def _partly_unread(concern: Concern) -> str:
    kind, *unread = concern.quotes
    return f"{kind} {_places(concern)}: not understood and taken as unknown: {' '.join(unread)}."


def _notice_not_read(concern: Concern) -> str:
    name, *open_parts = concern.quotes
    told = " | ".join(each[:QUOTED_LETTERS] for each in open_parts)
    return f"Notice {name}, which may be of {_places(concern)}, is not wholly read: {told}."


def _no_forecast(concern: Concern) -> str:
    place = _places(concern)
    if NotAtHand.NO_OBSERVATION in concern.quotes:
        return f"{place}: no report is at hand, neither observation nor forecast."
    none = f"{place}: no forecast is in force at the time of the approach"
    if NotAtHand.OLD_OBSERVATION in concern.quotes:
        return f"{none}, and the observation is older than half an hour."
    return f"{none}: the weather rests on the observation alone, and what is to come is not known."


def _fetch_failed(concern: Concern) -> str:
    return f"Could not be fetched, since {concern.quotes[0]}: {_by_kind(concern.fetched)}."


def _fetched_stale(concern: Concern) -> str:
    why = concern.quotes[0]
    return f"Fetched before and could not be renewed, since {why}: {_by_kind(concern.fetched)}."


def _by_kind(group: Sequence[Fetched]) -> str:
    places: dict[str, list[str]] = {}
    for each in group:
        places.setdefault(each.lack.kind, []).append(each.lack.icao)
    return "; ".join(f"{kind} of {', '.join(icaos)}" for kind, icaos in places.items())


def _aged(each: Fetched) -> str:
    age = "" if each.age_s is None else f", fetched {each.age_s / S_PER_MIN:.0f} min before"
    return f"{each.lack.kind} of {each.lack.icao}{age}"


WORDS: Final[Mapping[str, Callable[[Concern], str]]] = MappingProxyType(
    {
        HAZARD: lambda each: sentence(f"{each.quotes[0]} at {_places(each)}: {each.quotes[1]}"),
        "POLICY_DEVIATION": lambda each: sentence(each.quotes[0]),
        "APPROACH_CONDITION": lambda each: sentence(each.quotes[0]),
        "MINIMA_NOT_AS_CHARTED": lambda each: (
            f"Minima of {_places(each)} {each.quotes[0]} are not as charted: {each.quotes[1]}."
        ),
        "IRREVERSIBLE_STEP": lambda each: f"Cannot be undone: to {each.quotes[0]}.",
        "MISS_LIKELY": _miss_likely,
        "MAY_BE_BARRED": lambda each: (
            f"The approach at {_places(each)} may be barred, it is not by any report yet: "
            f"{'; '.join(each.quotes)}."
        ),
        "OBSERVED_WORSE": lambda each: (
            f"{_places(each)}: {each.quotes[0]} was worse than the forecast that governs at the "
            "time of the approach, and no group says that it ends."
        ),
        "FUEL_FLOW_ABOVE_MODEL": lambda each: (
            f"Fuel flow is {(each.figures['flow_ratio'] - 1.0) * PERCENT:.0f} % above the model, "
            "which was scaled to it. Consider a leak or drag that is not accounted for."
        ),
        "ENGINE_OUT_MARGIN_LOST": _engine_out_margin_lost,
        "NO_ENGINE_OUT_MISSED_APPROACH": lambda each: (
            f"No engine-out missed approach is given for {_places(each)}; the ordinary gradient is "
            "judged. Unknown, not met: ask for the operator's procedure."
        ),
        "NO_CLIMB_THERE": _no_climb_there,
        "FRESH_REPORT_NEEDED": _fresh_report_needed,
        "STRONG_WIND": lambda each: (
            f"Wind of {each.figures['wind_kt']:.0f} kt at {_places(each)}: limits for taxiing, "
            "doors and stairs are not judged here."
        ),
        "WITHIN_MODEL_ERROR": lambda each: (
            f"The {each.quotes[0]} at {_places(each)} is met by less than the model can tell."
        ),
        "GUST_BEYOND_LIMIT": lambda each: (
            f"Gusts at {_places(each)} are {shown_up(each.figures['beyond_kt'], 'kt')} beyond a "
            "wind limit of the aircraft; the mean wind is judged."
        ),
        "RUNWAY_BEARING_DOUBTFUL": lambda each: (
            f"Runway {each.quotes[0]} of {_places(each)} is given a bearing "
            f"{each.figures['apart_deg']:.0f} degrees from what its name says: check it."
        ),
        "RELEASE_TO_BE_AMENDED": lambda _: (
            "Every alternate of the release is below its minima: to go on to the destination takes "
            "an amended release or the pilot's emergency authority."
        ),
        "RUNWAY_WILL_BE_BLOCKED": _runway_will_be_blocked,
        "RESCUE_BELOW_CATEGORY": lambda each: (
            f"Rescue and fire fighting below category {each.figures['needed_category']:.0f}: "
            f"{', '.join(each.quotes)}."
        ),
        "STATE_CARRIED": _state_carried,
        "LIMIT_NOT_IN_FIGURES": lambda each: (
            f"{each.quotes[0]} {each.figures['limit']:g}: the figures do not take it into account."
        ),
        "ICING_WITH_DRAG_OUT": lambda each: (
            f"Icing weather at {_places(each)}, flown to with {' or '.join(each.quotes)} out: ice "
            "there is not shed; stay in it as briefly as possible."
        ),
        "HOLD_BARRED": lambda each: (
            f"The weather at {_places(each)} is said to improve, but there is no hold for it: "
            f"{each.quotes[0]}."
        ),
        "NO_TERRAIN_GIVEN": lambda each: (
            f"No minimum level is given on the way to {_places(each)}: terrain was not judged."
        ),
        "NO_WIND_GIVEN": lambda _: (
            "No winds aloft are given: calm was taken. A headwind costs fuel."
        ),
        "WIND_OF_NEAREST_LEVEL": _wind_of_nearest_level,
        "NO_REPORT": lambda each: f"No usable weather report for {_places(each)}.",
        "REPORTS_DIFFER": _reports_differ,
        "REPORT_PARTLY_UNREAD": _partly_unread,
        NotAtHand.NO_FORECAST.name: _no_forecast,
        NotAtHand.NO_OBSERVATION.name: lambda each: (
            f"{_places(each)}: no observation is at hand, only a forecast."
        ),
        "WEATHER_NOT_COMPLETE": lambda each: (
            f"{_places(each)}: the observation is older than half an hour."
        ),
        "NOTHING_FETCHED": lambda _: (
            "Fetching of reports was asked for, but no source is set up: only the reports in the "
            "request were used."
        ),
        "FETCH_FAILED": _fetch_failed,
        "FETCHED_REPORT_STALE": _fetched_stale,
        "LEFT_OUT": lambda each: (
            f"The case is so large that this was left out: {', '.join(each.quotes)}."
        ),
        "NOTICE_NOT_READ": _notice_not_read,
        "NOTICES_IN_FORCE": lambda each: (
            f"Notices in force at {_places(each)} for the arrival: {'; '.join(each.quotes)}."
        ),
        "RUNWAY_REPORT_OLD": lambda each: (
            f"{each.quotes[0]} of {_places(each)} is not in force for all of the arrival: the "
            f"condition of runway {each.quotes[1]} is not known by it. Get a new one."
        ),
        "NOTICE_NOT_USED": lambda each: (
            f"Notice {each.quotes[0]} not used: {each.quotes[1]} is not in the case."
        ),
        "REPORT_NOT_USED": lambda each: (
            f"Report not used, {each.quotes[0]}: {each.quotes[1][:QUOTED_LETTERS]}"
        ),
    }
)
