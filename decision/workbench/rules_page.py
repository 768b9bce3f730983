"""The page of rules, written from the rules and the rulebooks.

What is judged is said by the function that judges it, figures and citations by the rulebooks' data;
a test holds the page to both.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from decision.decide.rank import KIND_ORDER, LIMITS, PREFERENCES, Term
from decision.rulebooks.rulebook import Rulebook, RulebookRow, load_rulebook, rulebook_ids
from decision.rules import RULES
from decision.rules.registry import AnyRule
from decision.rules.row import EVERY_KIND, EVERY_ROLE, Breach, Mend

HEAD = """# Rules

Every rule that a course is judged by, with what each rulebook has for it. What can
fail in an aircraft is on the page of [failures](failures.md).

A rule says PASS, FAIL, UNKNOWN or NOT_APPLICABLE of an approach at an aerodrome or of a whole
course. FAIL outweighs UNKNOWN, and UNKNOWN never counts as PASS. *Confidence* is how well the row
is known here: found (the text was read), quoted (by somebody else), memory (verify), derived (own
arithmetic), assumed (this project's choice). *Force*: a rule binds, guidance is how to comply, a
policy is the operator's; guidance that is not followed is advised against, unless breaking it
endangers people. A rule without a value is a duty in words. *Reference only*: the value is stated
for people, and no rule reads it.
"""
# What a rule applies to when it is all of them, in one word.
ALL_OF = {EVERY_ROLE: "every approach", EVERY_KIND: "every course"}
ROLES = {
    "missed": "an approach that may be missed",
    "alternate": "the landing after a diversion",
    "committed": "a committed landing",
}
TERMS = {
    "_only_a_figure": "a second approach last: a figure about the time after a miss, never a way",
    "_illegal": "legal before unknown, unknown before illegal",
    "_advised_against": "not advised against before what guidance advises against",
    "_worst_breach": "the less grave the worst thing broken, in the order below",
    "_amount_of_breach": "the less that limit is missed, as part of it",
    "_thin": "the margin that the policy wants, at its percentile",
    "_time_when_urgent": "earlier on the ground, where a failure asks for that",
    "_kind": ", ".join(kind.replace("_", " ") for kind in KIND_ORDER),
    "_unknowns": "fewer rules that nobody can answer and figures that nobody has",
    "_weather_tight": "ceiling and visibility not hardly above their minima",
    "_runway_tight": "neither runway nor wind near its limit",
    "_exposure": "less time in the air after a miss, by tens of minutes",
    "_margin": "more fuel above the final reserve",
}


def page() -> str:
    """The whole page as Markdown."""
    books = tuple(map(load_rulebook, rulebook_ids()))
    lines = [HEAD, *_rules(books), *_order(), *_rows(books)]
    return "\n".join(lines).rstrip() + "\n"


def _rules(books: Sequence[Rulebook]) -> Iterator[str]:
    for topic, rules in groupby(RULES, key=lambda rule: rule.topic):
        yield f"## {topic.heading}"
        yield ""
        for rule in rules:
            yield from _rule(rule, books)


def _rule(rule: AnyRule, books: Sequence[Rulebook]) -> Iterator[str]:
    yield f"### {rule.code} {rule.title}"
    yield ""
    yield " ".join(str(inspect.getdoc(rule.check)).split())
    yield ""
    mended = "" if rule.mend is Mend.NOTHING else f" What mends it: {rule.mend.value}."
    yield f"Judged for {_applies(rule)}. Broken, it counts as: {_words(rule.breach)}.{mended}"
    yield f"Where it is UNKNOWN, ask {rule.asked.whom}."
    yield ""
    yield f"| `{rule.row}` | value | citation | edition | confidence | force | what it says |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    for book in books:
        row = book.row(rule.row)
        cells = (
            book.id,
            _value(row),
            f"[{row.cite}] {row.clause}",
            row.edition or "",
            row.confidence,
            row.force,
            row.text,
        )
        yield _line(cells)
    yield ""


def _applies(rule: AnyRule) -> str:
    whole = ALL_OF.get(rule.applies)
    names = (ROLES.get(each, each.replace("_", " ")) for each in sorted(rule.applies))
    return whole or ", ".join(names)


def _words(breach: Breach) -> str:
    return breach.name.lower().replace("_", " ")


def _value(row: RulebookRow) -> str:
    if row.value is None:
        return ""
    if isinstance(row.value, bool):
        return "yes" if row.value else "no"
    if isinstance(row.value, float):
        return f"{row.value:g} {row.unit}"
    return row.value.replace("_", " ")


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _order() -> Iterator[str]:
    """The three tables by which courses are ranked, and the order of what is broken."""
    yield "## The order of courses"
    yield ""
    yield "Best first. A later table is asked only when all before it leave two courses alike, so"
    yield "no preference outvotes a limit."
    for title, terms in (("Legal limits", LIMITS), ("Preferences", PREFERENCES)):
        yield ""
        yield f"### {title}"
        yield ""
        yield from _terms(terms)
    yield ""
    yield "### Tie-break"
    yield ""
    yield "1. the name of the course, which is unique in an answer"
    yield ""
    yield "### What is broken, the gravest first"
    yield ""
    yield from (f"{place}. {_words(breach)}" for place, breach in enumerate(Breach, start=1))
    yield ""


def _terms(terms: Sequence[Term]) -> Iterator[str]:
    yield from (f"{place}. {TERMS[term.__name__]}" for place, term in enumerate(terms, start=1))


def _rows(books: Sequence[Rulebook]) -> Iterator[str]:
    """Every row of every rulebook: rules read more of them than the one that they cite."""
    yield "## Every row of the rulebooks"
    yield ""
    yield f"| row | {' | '.join(f'{book.id} {book.version}' for book in books)} |"
    yield f"| --- | {' | '.join('---' for _ in books)} |"
    for name in books[0].rows:
        yield _line((f"`{name}`", *(_short(book.row(name)) for book in books)))


def _short(row: RulebookRow) -> str:
    value = _value(row)
    known = f"{row.confidence}, reference only" if row.reference else row.confidence
    return f"{value + ': ' if value else ''}[{row.cite}] {row.clause} ({known})"
