"""The words of item E: runways, a category, landing distances, whether something is out.

Nothing of it is guessed: a word that no row of the table has is left over, and whoever reads the
notice is told so. What follows DUE is a reason and changes nothing, unless it names a subject.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from decision.notices.codes import DESIGNATOR, KnownWord, WordPart, words
from decision.notices.types import DistanceLeft, NoticeSubject

_SENTENCE_END: Final = re.compile(r"\.(?=\s|$)")
_RUNWAYS: Final = re.compile(rf"(?:RWY)?({DESIGNATOR}(?:/{DESIGNATOR})*)")
_METRES: Final = re.compile(r"(\d{3,4})M?")
_CATEGORY: Final = re.compile(r"(?:CAT)?(10|\d)")
_ROMAN: Final = frozenset({"I", "II", "III", "IIIA", "IIIB", "IIIC"})
_FREQUENCY: Final = re.compile(r"\d{3}\.\d{1,3}(?:MHZ)?")
_EDGES: Final = ",;:()'\""
_PHRASES: Final = (  # written as one word of the table
    (re.compile(r"\bNOT (?:AVBL|AVAILABLE)\b"), "UNAVBL"),
    (re.compile(r"\bOUT OF SERVICE\b"), "OTS"),
)
_DISTANCES: Final = frozenset({"TORA", "TODA", "ASDA", "LDA"})
_LANDING: Final = "LDA"
_AND: Final = "AND"
_CATEGORY_WORDS: Final = frozenset({"CAT", "CATEGORY"})
LIGHTS: Final = "lights"
_ILS: Final = frozenset({"ils", "localizer", "glide_path", "dme"})
_LIGHTS: Final = frozenset({"approach_lights", LIGHTS})
NAMED_WITH: Final = {  # subjects of words that say nothing more than the code beside them
    NoticeSubject.AERODROME: frozenset({"aerodrome"}),
    NoticeSubject.RUNWAY: frozenset({"declared_distances"}),
    NoticeSubject.DECLARED_DISTANCES: frozenset({"declared_distances"}),
    NoticeSubject.RESCUE: frozenset({"rescue", "aerodrome"}),
    NoticeSubject.ILS: _ILS,
    NoticeSubject.LOCALIZER: frozenset({"ils", "localizer"}),
    NoticeSubject.GLIDE_PATH: frozenset({"ils", "glide_path"}),
    NoticeSubject.ILS_DME: frozenset({"ils", "dme"}),
    NoticeSubject.DME: frozenset({"dme"}),
    NoticeSubject.VOR: frozenset({"vor", "dme"}),
    NoticeSubject.NDB: frozenset({"ndb"}),
    NoticeSubject.APPROACH_LIGHTS: _LIGHTS,
    NoticeSubject.EDGE_LIGHTS: frozenset({LIGHTS}),
    NoticeSubject.CENTRELINE_LIGHTS: frozenset({LIGHTS}),
    NoticeSubject.TOUCHDOWN_ZONE_LIGHTS: frozenset({LIGHTS}),
    NoticeSubject.TAXIWAY_LIGHTS: frozenset({LIGHTS}),
    NoticeSubject.ALL_LIGHTS: _LIGHTS,
}
NOTHING: Final[frozenset[str]] = frozenset()


class ReadText(NamedTuple):
    """What was read in a text. `left`: words that no row has; `other`: sentences of others."""

    runways: tuple[str, ...]
    category: int | None
    distances: tuple[DistanceLeft, ...]
    says_distance: bool
    says_out: bool
    left: tuple[str, ...]
    other: tuple[str, ...]


class _Draft:
    """What has been read so far of a text."""

    def __init__(self, subject: NoticeSubject | None) -> None:
        self.named_with = NAMED_WITH.get(subject, NOTHING) if subject is not None else NOTHING
        self.runways: list[str] = []
        self.in_sentence: list[str] = []
        self.categories: list[int] = []
        self.distances: list[DistanceLeft] = []
        self.figures = 0
        self.out = False
        self.left: list[str] = []
        self.other: list[str] = []


def read_text(text: str, subject: NoticeSubject | None) -> ReadText:
    """Read a text beside the subject that its code names; never raises."""
    draft = _Draft(subject)
    for sentence in _sentences(text):
        _read_sentence(sentence, draft)
    return ReadText(
        runways=tuple(dict.fromkeys(draft.runways)),
        category=min(draft.categories, default=None),
        distances=tuple(draft.distances),
        says_distance=draft.figures > 0,
        says_out=draft.out,
        left=tuple(draft.left),
        other=tuple(draft.other),
    )


def _sentences(text: str) -> Iterator[list[str]]:
    for pattern, word in _PHRASES:
        text = pattern.sub(word, text)
    for sentence in _SENTENCE_END.split(text):
        split = [word.strip(_EDGES) for word in sentence.split()]
        if any(split):
            yield [word for word in split if word]


def _read_sentence(sentence: list[str], draft: _Draft) -> None:
    told, reason = _reason_cut_off(sentence)
    draft.in_sentence = []
    first = words().get(told[0]) if told else None
    if first is not None and first.part in (WordPart.SUBJECT, WordPart.RUNWAY):
        draft.other.append(" ".join(sentence))
    place = 0
    while place < len(told):
        place += _read_word(told, place, draft)
    if any(_matters(word) for word in reason):
        draft.left += reason


def _reason_cut_off(sentence: list[str]) -> tuple[list[str], list[str]]:
    for place, word in enumerate(sentence):
        known = words().get(word)
        if known is not None and known.part is WordPart.REASON:
            return sentence[:place], sentence[place + 1 :]
    return sentence, []


def _matters(word: str) -> bool:
    known = words().get(word)
    return known is not None and known.part in (WordPart.SUBJECT, WordPart.RUNWAY, WordPart.OUT)


def _read_word(sentence: Sequence[str], place: int, draft: _Draft) -> int:
    """Read the word there with those that belong to it; how many they are."""
    word = sentence[place]
    following = sentence[place + 1] if place + 1 < len(sentence) else ""
    if word in _DISTANCES and (metres := _METRES.fullmatch(following)):
        _keep_distance(word, float(metres[1]), draft)
        return 2
    if word in _CATEGORY_WORDS and (found := _CATEGORY.fullmatch(following)):
        draft.categories.append(int(found[1]))
        return 2
    if word in _CATEGORY_WORDS and following in _ROMAN:
        return 2
    designators = _RUNWAYS.fullmatch(word)
    if designators and _names_a_runway(sentence, place, draft):
        named = designators[1].split("/")
        draft.runways += named
        draft.in_sentence += named
    else:
        _keep_word(word, draft)
    return 1


def _names_a_runway(sentence: Sequence[str], place: int, draft: _Draft) -> bool:
    """Whether a designator stands where one does: after RWY, an aid, or another one.

    Hours and days are written alike.
    """
    before = sentence[place - 1] if place else ""
    known = words().get(before)
    if known is not None and known.part in (WordPart.RUNWAY, WordPart.SUBJECT):
        return True
    listed = before == _AND or _RUNWAYS.fullmatch(before) is not None
    return sentence[place].startswith("RWY") or (listed and bool(draft.in_sentence))


def _keep_distance(word: str, metres: float, draft: _Draft) -> None:
    draft.figures += 1
    if word != _LANDING:
        return
    draft.distances += [DistanceLeft(runway=each, lda_m=metres) for each in draft.in_sentence]
    if not draft.in_sentence:
        draft.left.append(word)


def _keep_word(word: str, draft: _Draft) -> None:
    known = words().get(word)
    if known is None:
        if not _FREQUENCY.fullmatch(word) and word != "-":
            draft.left.append(word)
    elif known.part is WordPart.OUT:
        draft.out = True
    elif _of_another(known, draft):
        draft.left.append(word)


def _of_another(word: KnownWord, draft: _Draft) -> bool:
    """Whether a word names a subject that the code of the notice has not got."""
    return word.part is WordPart.SUBJECT and word.subject not in draft.named_with
