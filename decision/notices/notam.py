"""The reader of a NOTAM: its items cut, its code looked up, its words read; what is not is listed.

The items are slices of the text, so that every word of it stands in one of them. Source of the
format: [ANNEX-15] appendix 6 of the editions before 2018, now [PANS-AIM] appendix 3.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Final, NamedTuple

from decision.notices.codes import NoticeState, states, subjects
from decision.notices.types import (
    NoticeAction,
    NoticeEffect,
    NoticeItem,
    NoticeKind,
    NoticeSubject,
    ReadNotice,
)
from decision.notices.wording import ReadText, read_text

_NUMBER: Final = r"[A-Z]\d{4}/\d{2}"
_HEADING: Final = re.compile(
    rf"(?:(?<=\s)|^)\(?\s*(?P<id>{_NUMBER})(?!\S)"
    rf"(?:\s+NOTAM(?P<action>[NRC])(?!\S)(?:\s+(?P<refers>{_NUMBER})(?!\S))?)?\s*"
)
_FIRST_ITEM: Final = re.compile(r"(?:^|\s)Q\)")
_ITEM: Final = re.compile(r"(?:(?<=\s)|^)([QABCDE])\)")
_ITEM_LIMIT: Final = re.compile(r"(?:(?<=\s)|^)([FG])\)\s*(?=SFC|GND|UNL|FL\d|\d)")
_ENDS_WITH_ITEM: Final = re.compile(r"(?:\s|^)[A-GQ]\)$")
_FEED: Final = re.compile(r"(?:(?<=\s)|^)CREATED:")
_QUALIFIERS: Final = re.compile(
    r"[A-Z]{4}\s*/\s*Q(?P<subject>[A-Z]{2})(?P<state>[A-Z]{2})\s*/\s*[IVK]{1,2}\s*/"
    r"\s*[NBOMK]{1,3}\s*/\s*[AEWK]{1,2}\s*/\s*\d{3}\s*/\s*\d{3}"
    r"(?:\s*/\s*\d{4}[NS]\d{5}[EW](?:\d{3})?)?"
)
_CODE: Final = re.compile(r"/\s*Q(?P<subject>[A-Z]{2})(?P<state>[A-Z]{2})\b")
_PLACES: Final = re.compile(r"[A-Z][A-Z0-9]{3}(?:\s+[A-Z][A-Z0-9]{3})*")
_PLACE: Final = re.compile(r"[A-Z][A-Z0-9]{3}")
_TIME: Final = re.compile(r"(\d{2})(\d{2})(\d{2})(\d{2})(\d{2})")
_END: Final = re.compile(r"(?P<at>\d{10})(?:\s*(?P<estimated>EST))?|(?P<permanent>PERM)")
_LIMIT: Final = re.compile(r"[FG]\)\s*(?:SFC|GND|UNL|FL\s?\d+|\d+\s*(?:FT|M)?\s*(?:AGL|AMSL)?)")
_ORDER: Final = "QABCDE"
_CENTURY: Final = 2000  # years have two digits; the code is of this century [ASSUMED]
NOT_ENDED: Final = "the text does not end: it may have been cut"

ACTIONS: Final = {
    None: NoticeAction.NEW,
    "N": NoticeAction.NEW,
    "R": NoticeAction.REPLACES,
    "C": NoticeAction.CANCELS,
}
DISTANCES: Final = frozenset({NoticeSubject.RUNWAY, NoticeSubject.DECLARED_DISTANCES})


class _Slices(NamedTuple):
    """A text cut at its items; of an item that it has not got there is no slice."""

    before: str
    heading: str
    loose: str
    items: dict[str, str]
    after: str
    ended: bool


class _Coded(NamedTuple):
    """What item Q says; `whole`: all of it could be read, and the tables have its letters."""

    subject: NoticeSubject | None
    state: NoticeState | None
    means: str | None
    whole: bool


class _When(NamedTuple):
    """What items B and C say."""

    from_at: datetime | None
    until_at: datetime | None
    estimated: bool
    permanent: bool


class _Meaning(NamedTuple):
    """What the code and the words come to; `wholly`: the words hold nothing else."""

    subject: NoticeSubject | None
    effect: NoticeEffect
    category: int | None
    wholly: bool


def looks_like_notam(text: str) -> bool:
    """Whether a text has a number of a NOTAM or an item Q."""
    return _HEADING.search(text) is not None or _FIRST_ITEM.search(text) is not None


def read_notam(raw: str, *, name: str) -> ReadNotice:
    """Read the text of a NOTAM; `name` is its id where it has none. Never raises."""
    cut = _cut(" ".join(raw.split()))
    heading = _HEADING.fullmatch(cut.heading)
    action = ACTIONS[heading["action"]] if heading else NoticeAction.NEW
    coded, when = _coded(cut.items.get("Q", "")), _when(cut)
    text = _body(cut.items.get("E", ""))
    told = read_text(text, coded.subject)
    meaning = _meaning(coded, told, text)
    if action is NoticeAction.CANCELS:
        meaning = _Meaning(coded.subject, NoticeEffect.NONE, None, wholly=True)
    parts = tuple(_parts(cut, heading is not None, _of_items(cut, coded, when, told, meaning)))
    unread = tuple(part.raw for part in parts if not part.read)
    return ReadNotice(
        id=heading["id"] if heading else name,
        kind=NoticeKind.NOTAM,
        action=action,
        refers_to=heading["refers"] if heading else None,
        places=_places(cut.items.get("A", "")),
        subject=meaning.subject,
        effect=meaning.effect,
        runways=told.runways,
        from_at=when.from_at,
        until_at=when.until_at,
        estimated=when.estimated,
        permanent=when.permanent,
        schedule=_body(cut.items["D"]) if "D" in cut.items else None,
        category=meaning.category,
        distances=told.distances if meaning.subject in DISTANCES else (),
        text=text,
        items=parts,
        unread=unread,
        problems=tuple(_problems(cut, heading, action)),
        raw=raw,
    )


def _problems(cut: _Slices, heading: re.Match[str] | None, action: NoticeAction) -> Iterator[str]:
    missing = [letter for letter in "QABCE" if letter not in cut.items]
    if action is NoticeAction.CANCELS and "C" in missing:
        missing.remove("C")  # a cancellation has no end [ANNEX-15]
    if missing:
        yield f"items not found: {' '.join(missing)}"
    if heading is None or heading["action"] is None:
        yield "nothing says whether it is new, replaces or cancels another"
    elif action is not NoticeAction.NEW and heading["refers"] is None:
        yield "nothing says which notice it replaces or cancels"
    if not cut.ended:
        yield NOT_ENDED
    if "D" in cut.items:
        yield "item D is not read: taken as in force all day"


# --- cutting ---


def _cut(text: str) -> _Slices:
    start = _HEADING.search(text)
    first = _FIRST_ITEM.search(text)
    if start is None or (first is not None and first.start() < start.start()):
        at = 0 if first is None else first.start()
        before, heading, rest = text[:at], "", text[at:]
    else:
        before, heading, rest = text[: start.start()], start[0], text[start.end() :]
    opened = heading.startswith("(") or before.rstrip().endswith("(")
    rest, after, ended = _closed(rest, opened=opened)
    bounds = _bounds(rest)
    ends = [at for _, at in bounds[1:]] + [len(rest)] if bounds else []
    items = {letter: rest[at:end].strip() for (letter, at), end in zip(bounds, ends, strict=True)}
    loose = rest[: bounds[0][1]] if bounds else rest
    return _Slices(
        before=before.strip(),
        loose=loose.strip(),
        heading=heading.strip(),
        items=items,
        after=after.strip(),
        ended=ended,
    )


def _closed(text: str, *, opened: bool) -> tuple[str, str, bool]:
    """The text up to its end, what stands after it, and whether there is one."""
    feed = _FEED.search(text)
    told, after = (text, "") if feed is None else (text[: feed.start()], text[feed.start() :])
    if not opened:
        return told, after, True
    end = told.rfind(")")
    balanced = end >= 0 and _closes(told[: end + 1])
    if not balanced:
        return told, after, False
    return told[:end], f"{told[end + 1 :]} {after}", True


def _closes(text: str) -> bool:
    """Whether the last bracket closes the notice, and not an item's letter or a remark."""
    if _ENDS_WITH_ITEM.search(text) is not None:
        return False
    inner = re.sub(r"(?:(?<=\s)|^)[A-GQ]\)", "", text[:-1])
    return inner.count("(") <= inner.count(")")


def _bounds(text: str) -> list[tuple[str, int]]:
    """Each item with where it begins, in the order in which they must stand."""
    found: list[tuple[str, int]] = []
    at = 0
    for match in _ITEM.finditer(text):
        letter = match[1]
        after = _ORDER.index(found[-1][0]) if found else -1
        if _ORDER.index(letter) > after and match.start() >= at:
            found.append((letter, match.start()))
            at = match.end()
    if found and found[-1][0] == "E":
        found += [(each[1], each.start()) for each in _ITEM_LIMIT.finditer(text, at)][:2]
    return found


def _body(item: str) -> str:
    return item.partition(")")[2].strip()


# --- reading ---


def _coded(item: str) -> _Coded:
    body = _body(item)
    whole = _QUALIFIERS.fullmatch(body)
    found = whole or _CODE.search(f"/{body}" if body.startswith("Q") else body)
    if found is None:
        return _Coded(None, None, None, whole=False)
    subject, state = subjects().get(found["subject"]), states().get(found["state"])
    means = ", ".join(each.means for each in (subject, state) if each is not None)
    return _Coded(
        None if subject is None else subject.subject,
        None if state is None else state.state,
        means or None,
        whole=whole is not None and subject is not None,
    )


def _when(cut: _Slices) -> _When:
    from_at = _instant(_body(cut.items.get("B", "")))
    end = _END.fullmatch(_body(cut.items.get("C", "")))
    if end is None:
        return _When(from_at, None, estimated=False, permanent=False)
    if end["permanent"]:
        return _When(from_at, None, estimated=False, permanent=True)
    until_at = _instant(end["at"])
    if until_at is None or (from_at is not None and until_at <= from_at):
        return _When(from_at, None, estimated=False, permanent=False)
    return _When(from_at, until_at, estimated=end["estimated"] is not None, permanent=False)


def _instant(text: str) -> datetime | None:
    found = _TIME.fullmatch(text)
    if found is None:
        return None
    year, month, day, hour, minute = map(int, found.groups())
    try:
        return datetime(_CENTURY + year, month, day, hour, minute, tzinfo=UTC)
    except ValueError:  # no such day or hour
        return None


def _places(item: str) -> tuple[str, ...]:
    return tuple(_PLACE.findall(_body(item))) if _PLACES.fullmatch(_body(item)) else ()


def _meaning(coded: _Coded, told: ReadText, text: str) -> _Meaning:
    """What it does; UNKNOWN where neither the code nor the words say it."""
    subject, state = coded.subject, coded.state
    if subject is None:
        return _Meaning(None, NoticeEffect.UNKNOWN, None, wholly=False)
    if subject is NoticeSubject.NO_MATTER:
        return _Meaning(subject, NoticeEffect.NONE, None, wholly=bool(text) and not told.other)
    if state is NoticeState.RESTORED and not told.says_out:
        return _Meaning(subject, NoticeEffect.NONE, None, wholly=bool(text))
    out = told.says_out or state is NoticeState.OUT
    effect, category = _effect(subject, state, told, out=out)
    of_runway = subject is NoticeSubject.RUNWAY
    if of_runway and effect is NoticeEffect.UNKNOWN and state is NoticeState.CHANGED:
        subject = NoticeSubject.DECLARED_DISTANCES
    contradicts = state is NoticeState.RESTORED
    known = effect is not NoticeEffect.UNKNOWN and not contradicts
    return _Meaning(subject, effect, category, wholly=known and bool(text) and not told.left)


def _effect(
    subject: NoticeSubject, state: NoticeState | None, told: ReadText, *, out: bool
) -> tuple[NoticeEffect, int | None]:
    if subject is NoticeSubject.RESCUE:
        category = 0 if out and told.category is None else told.category
        return (NoticeEffect.UNKNOWN if category is None else NoticeEffect.CHANGED), category
    if out:
        return OUT_IS.get(subject, NoticeEffect.UNSERVICEABLE), None
    if subject in DISTANCES and told.says_distance:
        return NoticeEffect.CHANGED, None
    if subject is NoticeSubject.ILS and state is NoticeState.DOWNGRADED:
        return NoticeEffect.DOWNGRADED, None
    return NoticeEffect.UNKNOWN, None


OUT_IS: Final = {
    NoticeSubject.AERODROME: NoticeEffect.CLOSED,
    NoticeSubject.RUNWAY: NoticeEffect.CLOSED,
    NoticeSubject.DECLARED_DISTANCES: NoticeEffect.UNKNOWN,
}


# --- telling ---


def _parts(
    cut: _Slices, heading_is_read: bool, of_items: dict[str, tuple[bool, str | None]]
) -> Iterator[NoticeItem]:
    """Every part of the text in its order, with what was read of it."""
    if cut.before:
        yield _part("before", cut.before, read=cut.before == "(")
    if cut.heading:
        yield _part("heading", cut.heading, read=heading_is_read)
    if cut.loose:
        yield _part("between", cut.loose, read=False)
    for letter, raw in cut.items.items():
        read, means = of_items[letter]
        yield _part(letter, raw, read=read, means=means)
    if cut.after:
        yield _part("after", cut.after, read=_FEED.match(cut.after) is not None)


def _of_items(
    cut: _Slices, coded: _Coded, when: _When, told: ReadText, meaning: _Meaning
) -> dict[str, tuple[bool, str | None]]:
    """Of each item that may be there whether it was read, and as what."""
    limits = {
        letter: (_LIMIT.fullmatch(cut.items.get(letter, "")) is not None, None) for letter in "FG"
    }
    return limits | {
        "Q": (coded.whole, coded.means),
        "A": (bool(_places(cut.items.get("A", ""))), None),
        "B": (when.from_at is not None, None),
        "C": (
            when.permanent or when.until_at is not None,
            "estimated: counts as not ended" if when.estimated else None,
        ),
        "D": (False, "taken as in force all day"),
        "E": (meaning.wholly, _told_words(told, meaning)),
    }


def _told_words(told: ReadText, meaning: _Meaning) -> str:
    words = [meaning.effect.value.replace("_", " ")]
    if told.runways:
        words.append(f"runway {', '.join(told.runways)}")
    if meaning.category is not None:
        words.append(f"category {meaning.category}")
    words += [f"landing distance of {each.runway} {each.lda_m:g} m" for each in told.distances]
    return "; ".join(words)


def _part(item: str, raw: str, *, read: bool, means: str | None = None) -> NoticeItem:
    return NoticeItem(item=item, raw=raw, read=read, means=means)
