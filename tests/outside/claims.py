"""What is wanted of an answer, as a table: a key, and how it is read from the answer.

A test gives `{key: wanted}`; `told` names the difference, so that a failure reads as a sentence.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Mapping
from typing import Any

import pytest

from tests.outside.world import (
    Answer,
    Body,
    breaches,
    caution_words,
    cautions,
    chosen,
    courses,
    message,
    minutes_to,
)

Check = Callable[[Answer, Any], str | None]
Rows = dict[str, tuple[Body, dict[str, Any]]]
ENDANGERING_TRADE_MIN = 15.0  # semantics 5: any other endangering breach, or unknown weather


def _same(read: Callable[[Answer], Any]) -> Check:
    def check(answer: Answer, wanted: Any) -> str | None:
        seen = read(answer)
        allowed = wanted if isinstance(wanted, (set, frozenset, tuple)) else {wanted}
        return None if seen in allowed else f"{seen!r} where {wanted!r} is wanted"

    return check


def _not_same(read: Callable[[Answer], Any]) -> Check:
    def check(answer: Answer, unwanted: Any) -> str | None:
        seen = read(answer)
        allowed = unwanted if isinstance(unwanted, (set, frozenset, tuple)) else {unwanted}
        return f"{seen!r} is not wanted" if seen in allowed else None

    return check


def _words(read: Callable[[Answer], str]) -> Check:
    def check(answer: Answer, wanted: Any) -> str | None:
        text = read(answer).lower()
        words = (wanted,) if isinstance(wanted, str) else wanted
        missing = [word for word in words if word.lower() not in text]
        return f"{missing} not in {text!r}" if missing else None

    return check


def _no_words(read: Callable[[Answer], str]) -> Check:
    def check(answer: Answer, unwanted: Any) -> str | None:
        text = read(answer).lower()
        words = (unwanted,) if isinstance(unwanted, str) else unwanted
        found = [word for word in words if word.lower() in text]
        return f"{found} in {text!r}" if found else None

    return check


def headline(answer: Answer) -> str:
    text: str = answer["headline"]
    return text


def asked(answer: Answer) -> str:
    return " | ".join(f"{each['what']} of {each['whom']}" for each in answer["ask"])


def all_words(answer: Answer) -> str:
    """Headline, reasons, cautions, remedies and what is said to whom."""
    parts = [
        answer["headline"],
        *(each["text"] for each in answer["reasons"]),
        *(each["text"] for each in answer["remedies"]),
        *(each["text"] for each in answer["messages"]),
        answer["emergency"]["phrase"],
    ]
    return " | ".join([*parts, caution_words(answer)])


def _codes(answer: Answer, wanted: Collection[str]) -> str | None:
    missing = set(wanted) - set(cautions(answer))
    return f"cautions {sorted(missing)} missing in {sorted(cautions(answer))}" if missing else None


def _no_codes(answer: Answer, unwanted: Collection[str]) -> str | None:
    found = set(unwanted) & set(cautions(answer))
    return f"cautions {sorted(found)} are not wanted" if found else None


def _first_caution(answer: Answer, wanted: str) -> str | None:
    """The gravest comes first: a word of its text or code."""
    if not answer["cautions"]:
        return "no caution at all"
    first = answer["cautions"][0]
    text = f"{first['code']} {first['text']}".lower()
    return None if wanted.lower() in text else f"first caution is {text!r}"


def _weights(answer: Answer, wanted: dict[str, str]) -> str | None:
    seen = {code: each["weight"] for code, each in cautions(answer).items() if code in wanted}
    return None if seen == wanted else f"{seen} where {wanted} is wanted"


def _no_hold(answer: Answer, _: Any) -> str | None:
    """No holding figure, no deadline of fuel endurance, no hold among the courses or remedies."""
    held = [value for value in answer["holding"].values() if value is not None]
    late = [answer["action"]["latest_at"], (answer["deadline"] or {}).get("holding_until")]
    waits = courses(answer, "hold_then_approach")
    bought = [each for each in answer["remedies"] if each["minutes"] is not None]
    faults = {"holding": held, "late": [each for each in late if each], "waits": waits}
    told = {name: found for name, found in faults.items() if found} | (
        {"remedies": bought} if bought else {}
    )
    return f"{told}" if told else None


def _headline_minutes(answer: Answer, places: Collection[str]) -> str | None:
    """Every place stands in the headline with its minutes to touchdown, rounded up."""
    for icao in places:
        wanted = math.ceil(minutes_to(answer, icao) - 1e-9)
        found = re.search(rf"{icao}[^.]*?(\d+) min", answer["headline"])
        if found is None or int(found.group(1)) != wanted:
            return f"{icao} without its {wanted} min in {answer['headline']!r}"
    return None


def _minutes(answer: Answer, bands: dict[str, tuple[float, float]]) -> str | None:
    seen = {icao: minutes_to(answer, icao) for icao in bands}
    out = {i: seen[i] for i, (low, high) in bands.items() if not low <= seen[i] <= high}
    return f"minutes {out} outside {bands}" if out else None


def _by_additions(answer: Answer, additions: dict[str, float]) -> str | None:
    """The place of landing is the one of least minutes and additions (semantics 5)."""
    total = {icao: minutes_to(answer, icao) + more for icao, more in additions.items()}
    best = min(total, key=lambda icao: total[icao])
    seen = answer["action"]["aerodrome"]
    return None if seen == best else f"{seen} chosen where the least of {total} is {best}"


def _breaks_only(answer: Answer, wanted: Collection[str]) -> str | None:
    seen = breaches(chosen(answer))
    return None if seen == set(wanted) else f"breaks {seen} where {set(wanted)} is wanted"


def _nature(answer: Answer, word: str) -> str | None:
    """The nature is in what is said to each receiver."""
    receivers = ("air_traffic_control", "dispatch", "cabin")
    without = [to for to in receivers if word.lower() not in message(answer, to).lower()]
    return f"{word!r} not said to {without}: {answer['messages']}" if without else None


def _open_way(answer: Answer, places: Collection[str]) -> str | None:
    """The diversions after a miss that are legal go to these places."""
    seen = {each["aerodrome"] for each in courses(answer, "approach_then_divert") if each["legal"]}
    return None if seen == set(places) else f"legal after a miss: {seen}, wanted {set(places)}"


def _flyable(answer: Answer, _: Any) -> str | None:
    """No course stops short for want of a level that can be held."""
    found = [each["course"] for each in answer["courses"] if "CANNOT_BE_FLOWN" in breaches(each)]
    limited = [each["course"] for each in answer["courses"] if each["touchdown_at"] is None]
    return f"cannot be flown: {found}, without a touchdown: {limited}" if found or limited else None


def _no_finding(answer: Answer, wanted: tuple[str, str]) -> str | None:
    """No course fails a rule of this title."""
    title, icao = wanted
    failed = [
        finding["text"]
        for each in answer["courses"]
        for finding in each.get("findings", each["breaks"])
        if finding.get("title") == title and finding["at"] == icao and finding["outcome"] == "FAIL"
    ]
    return f"{failed}" if failed else None


def _ahead(answer: Answer, pair: tuple[str, str]) -> str | None:
    """The first course is ranked before the second."""
    rank = {each["course"]: each["rank"] for each in answer["courses"]}
    first, second = pair
    return None if rank[first] < rank[second] else f"{rank[first]} is not before {rank[second]}"


def _at_most(answer: Answer, _: Any) -> str | None:
    """Kilograms of an unknown leak stand in the headline as `at most`, and no endurance does."""
    text = answer["headline"]
    told = re.findall(r"(at most )?\d+ kg", text)
    endurance = re.search(r"kg \(\d+ min\)|endurance \d", all_words(answer), re.IGNORECASE)
    bare = [each for each in told if not each]
    return f"{text!r}" if bare or endurance else None


def _quotes(answer: Answer, group: str) -> str | None:
    """A hold quotes the improving group where the crew reads it first."""
    words = " | ".join([headline(answer), *(each["text"] for each in answer["reasons"])])
    return None if group in words else f"{group!r} not quoted in {words!r}"


def place_in_headline(answer: Answer) -> bool:
    """Place and runway of the action; a hold names what it waits for."""
    action = answer["action"]
    named = action["aerodrome"] in answer["headline"]
    if action["do"] == "HOLD" or action["runway"] is None:
        return named
    return named and f"runway {action['runway']}" in answer["headline"]


CHECKS: dict[str, Check] = {
    "verdict": _same(lambda a: a["verdict"]),
    "not_verdict": _not_same(lambda a: a["verdict"]),
    "basis": _same(lambda a: a["basis"]),
    "not_basis": _not_same(lambda a: a["basis"]),
    "do": _same(lambda a: a["action"]["do"]),
    "not_do": _not_same(lambda a: a["action"]["do"]),
    "at": _same(lambda a: a["action"]["aerodrome"]),
    "not_at": _not_same(lambda a: a["action"]["aerodrome"]),
    "runway": _same(lambda a: a["action"]["runway"]),
    "level": _same(lambda a: a["emergency"]["level"]),
    "fuel_state": _same(lambda a: a["fuel_state"]),
    "ways_out": _same(lambda a: a["ways_out"]),
    "latest_at": _same(lambda a: a["action"]["latest_at"]),
    "headline": _words(headline),
    "no_headline": _no_words(headline),
    "words": _words(all_words),
    "no_words": _no_words(all_words),
    "caution_words": _words(caution_words),
    "ask": _words(asked),
    "codes": _codes,
    "no_codes": _no_codes,
    "first_caution": _first_caution,
    "weights": _weights,
    "no_hold": _no_hold,
    "headline_minutes": _headline_minutes,
    "minutes": _minutes,
    "by_additions": _by_additions,
    "breaks_only": _breaks_only,
    "nature": _nature,
    "open_way": _open_way,
    "flyable": _flyable,
    "no_finding": _no_finding,
    "ahead": _ahead,
    "at_most": _at_most,
    "quotes": _quotes,
    "remedy": _words(lambda a: " | ".join(f"{r['kind']} {r['text']}" for r in a["remedies"])),
    "no_remedy": _no_words(lambda a: " | ".join(f"{r['kind']} {r['text']}" for r in a["remedies"])),
    "to_control": _words(lambda a: message(a, "air_traffic_control")),
    "not_to_control": _no_words(lambda a: message(a, "air_traffic_control")),
    "chosen_kind": _same(lambda a: chosen(a)["kind"]),
    "chosen_within": lambda a, band: (
        None
        if band[0] <= chosen(a)["minutes_to_touchdown"] <= band[1]
        else f"{chosen(a)['minutes_to_touchdown']} min, wanted within {band}"
    ),
    "own": lambda a, check: check(a),
    "reasons_filled": _same(lambda a: bool(a["reasons"])),
    "place_in_headline": _same(place_in_headline),
    "not_chosen_kind": _not_same(lambda a: chosen(a)["kind"]),
}
EVERYWHERE: dict[str, Any] = {
    "reasons_filled": True,
    "place_in_headline": True,
    "not_chosen_kind": "second_approach",
}


def each_claim(wanted: Mapping[str, Mapping[str, Any]]) -> pytest.MarkDecorator:
    """A test for each claim by the name of an answer, and for each that holds of every answer."""
    claims = [
        (name, key, value)
        for name, own in wanted.items()
        for key, value in (EVERYWHERE | dict(own)).items()
    ]
    ids = [f"{name}-{key}" for name, key, _ in claims]
    return pytest.mark.parametrize(("name", "key", "wanted"), claims, ids=ids)


def wanted_of(rows: Rows) -> dict[str, dict[str, Any]]:
    """The claims of a table that has the bodies beside them."""
    return {name: wanted for name, (_, wanted) in rows.items()}


def told(answer: Answer, key: str, wanted: Any) -> str | None:
    """None where the claim holds, else the difference with the headline."""
    difference = CHECKS[key](answer, wanted)
    return None if difference is None else f"{key}: {difference}\n  {answer['headline']}"
