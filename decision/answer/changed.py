"""What changed between two decisions of one flight, and why the verdict moved.

Works on the plain data of requests and answers, since that is what is kept: whatever was decided
long ago can be compared with what is decided now. Nothing is judged anew.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from decision.answer.reading import joined
from decision.rules.combine import WORST_FIRST

Data = Mapping[str, Any]

SHOWN_KG: Final = 10.0  # smaller changes of a margin are not told; figures are printed to this
LISTED_NOT: Final = ""  # of a rule that a course of a short answer does not list
APART: Final = frozenset({"as_of", "flight_id", "weather", "failures", "include", "carried"})
STANDS_IN_THE_WAY: Final = frozenset({"FAIL", "UNKNOWN"})
LENGTH_OF_A_NAME: Final = 2  # of the pointer to one failure or alternate
UNITS: Final = {
    "_kg": "kg",
    "_ft": "ft",
    "_nm": "NM",
    "_min": "min",
    "_kt": "kt",
    "_m": "m",
    "_mm": "mm",
    "_hpa": "hPa",
    "_percent": "%",
    "_deg": "degrees",
    "_degc": "degrees Celsius",
    "_kg_per_h": "kg/h",
}
DIFFERENT: Final = "Different in the request: "
"""How the sentence of `why` begins that lists what `inputs` and `weather` have."""
ONE_OF: Final = {"failures": "failure", "alternates": "alternate"}  # told by name, not by number


def changed(
    before: Data, after: Data, *, request_before: Data, request_after: Data
) -> dict[str, Any]:
    """The difference as data, and in one or two sentences (`why`).

    Of answers without findings only what is broken or open is known of each course.
    """
    before, after = joined(before), joined(after)
    inputs = [*inputs_changed(request_before, request_after)]
    weather = [*reports_changed(request_before, request_after)]
    findings = [*_findings(before, after)]
    return {
        "verdict": {"from": before["verdict"], "to": after["verdict"]},
        "action": {"from": action_in_words(before), "to": action_in_words(after)},
        "inputs": inputs,
        "weather": weather,
        "findings": findings,
        "courses": [*_courses(before, after)],
        "cautions": [*_cautions(before, after)],
        "why": " ".join(_why(before, after, findings, causes_told(inputs, weather))),
    }


def action_in_words(answer: Data) -> str:
    """What to do, where and on which runway."""
    action = answer["action"]
    runway = f" runway {action['runway']}" if action["runway"] else ""
    return f"{action['do']} {action['aerodrome']}{runway}"


# --- what was asked ---


def inputs_changed(before: Data, after: Data) -> Iterator[dict[str, Any]]:
    """Every value of the request that differs, but for the reports, by its JSON Pointer."""
    for pointer, one, other in _leaves(_asked(before), _asked(after), ""):
        yield {"pointer": pointer, "from": one, "to": other, "unit": _unit(pointer)}


def _asked(request: Data) -> dict[str, Any]:
    """The request without what is told apart; failures and alternates by name, not by number."""
    asked = {name: value for name, value in request.items() if name not in APART}
    asked["failures"] = {each["id"]: each for each in request.get("failures") or ()}
    asked["alternates"] = {_icao(each): each for each in request.get("alternates") or ()}
    return asked


def _icao(place: Any) -> str:  # noqa: ANN401 - an indicator or a description
    return place if isinstance(place, str) else str(place["icao"])


def _leaves(one: Any, other: Any, pointer: str) -> Iterator[tuple[str, Any, Any]]:  # noqa: ANN401 - JSON
    """Pairs of values that differ, as deep as both sides are objects."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        for name in sorted({*one, *other}):
            yield from _leaves(one.get(name), other.get(name), f"{pointer}/{name}")
    elif one != other:
        yield pointer, one, other


def _unit(pointer: str) -> str | None:
    return next((unit for end, unit in UNITS.items() if pointer.endswith(end)), None)


def reports_changed(before: Data, after: Data) -> Iterator[dict[str, str]]:
    """Reports that came and reports that went."""
    old, new = _reports(before), _reports(after)
    for raw in new:
        if raw not in old:
            yield {"what": "came", "report": raw}
    for raw in old:
        if raw not in new:
            yield {"what": "went", "report": raw}


def _reports(request: Data) -> list[str]:
    return list((request.get("weather") or {}).get("reports") or ())


# --- what was answered ---


def _findings(before: Data, after: Data) -> Iterator[dict[str, Any]]:
    """Rules that turned, on courses that both answers have."""
    complete = before["complete"] and after["complete"]
    for one, other in _pairs(before, after):
        known, now = _numbered(one["findings"]), _numbered(other["findings"])
        for key in now if complete else {**now, **known}:
            was, finding = known.get(key), now.get(key)
            if (complete and was is None) or not _turned(was, finding):
                continue
            yield {
                "course": other["course"],
                "rule": key[0],
                "at": key[1],
                "outcome": _from_to(was, finding, "outcome"),
                "value": _from_to(was, finding, "value"),
                "limit": _from_to(was, finding, "limit"),
                "unit": (finding or was or {})["unit"],
                "text": "neither broken nor open" if finding is None else finding["text"],
            }


def _turned(was: Data | None, now: Data | None) -> bool:
    """Whether an outcome is another; one that is not listed is neither broken nor open."""
    outcomes = {LISTED_NOT if each is None else each["outcome"] for each in (was, now)}
    return len(outcomes) > 1 and outcomes != {LISTED_NOT, "PASS"}


def _from_to(was: Data | None, now: Data | None, name: str) -> dict[str, Any]:
    return {
        "from": None if was is None else was[name],
        "to": None if now is None else now[name],
    }


def _numbered(findings: Sequence[Data]) -> dict[tuple[str, str, int], Data]:
    """Findings by rule, place and turn: two approaches at one place have each rule twice."""
    numbered: dict[tuple[str, str, int], Data] = {}
    seen: Counter[tuple[str, str]] = Counter()
    for finding in findings:
        name = finding["rule"], finding["at"]
        numbered[(*name, seen[name])] = finding
        seen[name] += 1
    return numbered


def _courses(before: Data, after: Data) -> Iterator[dict[str, Any]]:
    """Courses whose legality or fuel margin differs, and those that only one answer has."""
    for one, other in _pairs(before, after):
        margins = _margin(one), _margin(other)
        if one["legal"] != other["legal"] or _moved(*margins):
            yield {
                "course": other["course"],
                "legal": {"from": one["legal"], "to": other["legal"]},
                "margin_kg": {"from": margins[0], "to": margins[1]},
                "only": None,
            }
    names = [{each["course"] for each in answer["courses"]} for answer in (before, after)]
    for name in sorted(names[0] ^ names[1]):
        yield {
            "course": name,
            "legal": None,
            "margin_kg": None,
            "only": "before" if name in names[0] else "after",
        }


def _margin(course: Data) -> float | None:
    return None if course["fuel"] is None else course["fuel"]["margin_kg"]


def _moved(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is not other
    return abs(one - other) >= SHOWN_KG


def _cautions(before: Data, after: Data) -> Iterator[dict[str, str]]:
    old, new = ({each["text"] for each in answer["cautions"]} for answer in (before, after))
    for each in after["cautions"]:
        if each["text"] not in old:
            yield {"what": "came", "text": each["text"]}
    for each in before["cautions"]:
        if each["text"] not in new:
            yield {"what": "went", "text": each["text"]}


def _pairs(before: Data, after: Data) -> Iterator[tuple[Data, Data]]:
    old = {each["course"]: each for each in before["courses"]}
    for course in after["courses"]:
        if course["course"] in old:
            yield old[course["course"]], course


# --- in words ---


def _why(
    before: Data, after: Data, findings: Sequence[Data], causes: Sequence[str]
) -> Iterator[str]:
    same = before["verdict"] == after["verdict"]
    if same and before["action"]["course"] == after["action"]["course"]:
        yield f"{after['verdict']} as before: {action_in_words(after)}."
    elif same:
        now, was = action_in_words(after), action_in_words(before)
        yield f"{after['verdict']} as before, but {now} instead of {was}."
    else:
        yield f"{before['verdict']} became {after['verdict']}."
    if not same or before["action"]["course"] != after["action"]["course"]:
        yield from _turning(before, after, findings)
    if causes:
        yield f"{DIFFERENT}{'; '.join(causes)}."
    elif before["as_of"] != after["as_of"]:
        yield f"Nothing but the time differs: {before['as_of']}, now {after['as_of']}."


def _turning(before: Data, after: Data, findings: Sequence[Data]) -> Iterator[str]:
    """The rules that turned on the course that was chosen, else on the one that now is."""
    for answer in (before, after):
        chosen = answer["action"]["course"]
        turned = [each for each in findings if each["course"] == chosen and _matters(each)]
        if turned:
            first = min(turned, key=_gravity)
            was, now = (first["outcome"][each] or "not broken" for each in ("from", "to"))
            yield f"{first['course']}: {first['rule']} was {was} and is {now}: {first['text']}."
            return
    new = [each for each in _cautions(before, after) if each["what"] == "came"]
    if new:
        yield f"New caution: {new[0]['text']}"
    else:
        yield f"{after['headline']}"


def _matters(turned: Data) -> bool:
    """Whether something was broken or open and is no more, or the reverse, or one for the other."""
    return any(turned["outcome"][each] in STANDS_IN_THE_WAY for each in ("from", "to"))


def _gravity(turned: Data) -> int:
    """Order of what a rule says now; neither broken nor open comes last."""
    now = turned["outcome"]["to"]
    return len(WORST_FIRST) if now is None else WORST_FIRST.index(now)


def causes_told(inputs: Sequence[Data], weather: Sequence[Data]) -> list[str]:
    """What is different in the request, each in words: `inputs` and `weather` of `changed`."""
    reports = (f"report {each['what']}: {each['report']}" for each in weather)
    return [*map(_cause, inputs), *reports]


def _cause(difference: Data) -> str:
    """One value that differs, in words: fuel on board 3450 kg, now 2950 kg (500 kg less)."""
    place, one, other = difference["pointer"].split("/")[1:], difference["from"], difference["to"]
    if place[0] in ONE_OF and len(place) == LENGTH_OF_A_NAME and None in (one, other):
        return f"{ONE_OF[place[0]]} {place[1]} {'added' if one is None else 'gone'}"
    unit = f" {difference['unit']}" if difference["unit"] else ""
    was, now = _told(one, unit), _told(other, unit)
    told = f"{_in_words(place)} {was}, now {now}" if was != now else f"{_in_words(place)} changed"
    if _is_number(one) and _is_number(other):
        return f"{told} ({abs(other - one):g}{unit} {'less' if other < one else 'more'})"
    return told


def _in_words(place: Sequence[str]) -> str:
    *above, last = place
    end = max((end for end in UNITS if last.endswith(end)), key=len, default="")
    return " ".join([*above, last.removesuffix(end)]).replace("_", " ")


def _is_number(value: Any) -> bool:  # noqa: ANN401 - JSON
    return isinstance(value, int | float) and not isinstance(value, bool)


def _told(value: Any, unit: str) -> str:  # noqa: ANN401 - JSON
    if value is None:
        return "not given"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping | list):
        return "given" if value else "none"
    return f"{value}{unit}"
