"""An answer as plain data made easy to read: each course with its own findings and approaches.

Readers of what was stored (the brief, the comparison of two answers) begin here, whatever the
format that it was stored in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from decision.answer.courses import EVERYTHING, MOST_FINDINGS, CourseFlight
from decision.answer.old import LEDGER, of_now

Data = Mapping[str, Any]

OF_FINDINGS: Final = ("findings", "not_applicable", "attempts", "reports")
UNTOLD: Final = dict.fromkeys(CourseFlight.__struct_fields__)
NO_FIGURES: Final = dict.fromkeys(("value", "limit", "sense", "margin", "unit"))


def joined(answer: Data) -> dict[str, Any]:
    """The answer, every course with `findings` in the order of codes and `attempts` in full.

    Of an answer that does not include findings these are what its courses list: what they break,
    what is open and what is tightest; `complete` says which. What is joined stays as it is.
    """
    if "complete" in answer:
        return dict(answer)
    whole = of_now(answer)
    by_subject: dict[str, list[Data]] = {}
    for finding in whole["findings"] or ():
        by_subject.setdefault(finding["subject"], []).append(finding)
    courses = [_joined(each, whole, by_subject) for each in whole["courses"]]
    assumptions = [
        {**each, "text": each["text"] or f"{each['field']} not given: {each['value']} assumed"}
        for each in whole.get("assumptions", ())
    ]
    complete = whole["findings"] is not None
    return {**whole, "courses": courses, "assumptions": assumptions, "complete": complete}


def _joined(course: Data, whole: Data, by_subject: Mapping[str, Sequence[Data]]) -> dict[str, Any]:
    told = {**course, **UNTOLD, **(course["flight"] or {})}
    for part, names in LEDGER.items():
        if course[part] is not None:
            told[part] = {**course[part], **{name: told[name] for name in names}}
    if whole["findings"] is None:
        return {**told, "findings": [*_listed(course, whole["rules"])], "attempts": []}
    attempts = {name: whole["attempts"][name] for name in course["flight"]["attempts"]}
    places = {name: each["aerodrome"] for name, each in attempts.items()}
    found: list[Data] = []
    for name, place in (*places.items(), (course["course"], course["aerodrome"])):
        found += by_subject.get(name, ())
        found += _silent(whole["not_applicable"].get(name, ()), place)
    return {
        **told,
        "findings": [
            {**each, **whole["rules"][each["rule"]]}
            for each in sorted(found, key=lambda each: str(each["rule"]))
        ],
        "attempts": [*attempts.values()],
    }


def _silent(codes: Sequence[str], place: str) -> Iterator[Data]:
    """What rules say that do not apply."""
    for code in codes:
        yield {"rule": code, "at": place, "outcome": "NOT_APPLICABLE", "text": "", **NO_FIGURES}


def _listed(course: Data, rules: Mapping[str, Data]) -> Iterator[Data]:
    for name, outcome in (("breaks", "FAIL"), ("open", "UNKNOWN"), ("tightest", "PASS")):
        for each in course[name]:
            words = rules[each["rule"]]["title"]
            yield {**NO_FIGURES, "text": words, "outcome": outcome, **each}


def as_sent(whole: Data) -> dict[str, Any]:
    """A whole answer without the parts that were not asked for."""
    sent, include = dict(whole), whole["included"]
    left_out = {"steps": None} if "steps" not in include else {}
    if not EVERYTHING & {*include}:
        left_out["flight"] = None
    sent["courses"] = [{**each, **left_out} for each in sent["courses"]]
    if "findings" in include:
        return sent | {"findings": sent["findings"][:MOST_FINDINGS]}
    named = {
        each["rule"]
        for course in sent["courses"]
        for part in ("breaks", "open", "tightest")
        for each in course[part]
    }
    sent["rules"] = {code: rule for code, rule in sent["rules"].items() if code in named}
    return sent | dict.fromkeys(OF_FINDINGS)
