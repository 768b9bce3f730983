"""The reader of NOTAM: what each item gives, and that nothing is dropped in silence."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from decision.notices import NoticeAction, NoticeEffect, NoticeKind, NoticeSubject
from decision.notices.codes import states, subjects, words
from decision.windows import Window
from tests.notices.builders import notam, read, snowtam

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)
AFTER = Window(datetime(2026, 3, 15, tzinfo=UTC), datetime(2026, 3, 15, 1, tzinfo=UTC))


@pytest.mark.parametrize(
    ("code", "text", "subject", "effect"),
    [
        ("FALC", "AD CLSD", NoticeSubject.AERODROME, NoticeEffect.CLOSED),
        ("MRLC", "RWY 27R CLSD DUE WIP", NoticeSubject.RUNWAY, NoticeEffect.CLOSED),
        ("MRXX", "RWY 27R CLSD", NoticeSubject.RUNWAY, NoticeEffect.CLOSED),
        ("ICAS", "ILS RWY 27R U/S", NoticeSubject.ILS, NoticeEffect.UNSERVICEABLE),
        ("IUCG", "ILS RWY 27R DOWNGRADED TO CAT I", NoticeSubject.ILS, NoticeEffect.DOWNGRADED),
        ("IGAS", "GP RWY 27R NOT AVBL", NoticeSubject.GLIDE_PATH, NoticeEffect.UNSERVICEABLE),
        ("ILCT", "LOC RWY 27R U/S", NoticeSubject.LOCALIZER, NoticeEffect.UNSERVICEABLE),
        ("IDAS", "ILS DME RWY 27R 109.90MHZ U/S", NoticeSubject.ILS_DME,
         NoticeEffect.UNSERVICEABLE),
        ("LAAS", "ALS RWY 27R U/S", NoticeSubject.APPROACH_LIGHTS, NoticeEffect.UNSERVICEABLE),
        ("LEAS", "RWY 27R EDGE LGT U/S", NoticeSubject.EDGE_LIGHTS, NoticeEffect.UNSERVICEABLE),
        ("FFCG", "RFF DOWNGRADED TO CAT 6", NoticeSubject.RESCUE, NoticeEffect.CHANGED),
        ("MDCH", "RWY 27R TORA 2000M LDA 1800M", NoticeSubject.DECLARED_DISTANCES,
         NoticeEffect.CHANGED),
        ("ICAK", "ILS RWY 27R", NoticeSubject.ILS, NoticeEffect.NONE),
        ("MXLC", "TWY B CLSD", NoticeSubject.NO_MATTER, NoticeEffect.NONE),
    ],
)  # fmt: skip
def test_a_code_and_its_words_are_read_to_the_end(
    code: str, text: str, subject: NoticeSubject, effect: NoticeEffect
) -> None:
    notice = read(notam(code, text))
    assert (notice.subject, notice.effect) == (subject, effect)
    assert notice.wholly_read, (notice.unread, notice.problems)


def test_figures_of_the_words_are_read() -> None:
    assert read(notam("FFCG", "RFF DOWNGRADED TO CAT 6")).category == 6
    assert read(notam("FFAS", "RFF U/S")).category == 0
    [distance] = read(notam("MDCH", "RWY 27R TORA 2000M LDA 1800M")).distances
    assert (distance.runway, distance.lda_m) == ("27R", 1800.0)
    assert read(notam(words="RWY 09L/27R CLSD")).runways == ("09L", "27R")
    assert read(notam("ICAS", "ILS RWY 09L AND 27R U/S")).runways == ("09L", "27R")
    assert read(notam(words="RWY CLSD FROM 06 TO 18")).runways == ()


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("FATT", "TRIGGER NOTAM"),  # letters that no row has
        ("OBCE", "CRANE ERECTED"),
        ("MRXX", "RWY 27R SURFACE UNEVEN"),
        ("MRLC", "RWY 27R CLSD. ILS RWY 27L U/S"),  # something else besides
        ("MRLC", "RWY 27R CLSD DUE WIP AND ILS 27L U/S"),
        ("MXLC", "RWY 27L CLSD"),  # words against the code
        ("ICAK", "ILS RWY 27R U/S"),
        ("MRLL", "RWY 27R USABLE LENGTH 1500M"),
        ("MDCH", "LDA 1500M"),  # of which runway?
        ("FFCG", "RFF DOWNGRADED"),  # to what?
        ("MRLC", "RWY CLSD FROM 06 TO 18"),  # hours are no runways
        ("LPAS", "PAPI RWY 27R U/S"),
    ],
)
def test_what_is_not_read_to_the_end_is_listed(code: str, text: str) -> None:
    notice = read(notam(code, text))
    assert not notice.wholly_read
    assert any(text in each or f"Q{code}" in each for each in notice.unread)


def test_words_that_say_out_count_against_a_code_that_says_restored() -> None:
    assert read(notam("ICAK", "ILS RWY 27R U/S")).effect is NoticeEffect.UNSERVICEABLE


def test_an_estimated_end_counts_as_none_and_so_do_perm_and_an_end_that_is_not_read() -> None:
    certain = read(notam(until="2603140700"))
    assert not certain.in_force(AFTER)
    for end in ("2603140700 EST", "2603140700EST", "PERM", "26031407", "2613140700", "UFN"):
        assert read(notam(until=end)).in_force(AFTER), end
    assert read(notam(until="2603140700 EST")).estimated
    assert read(notam(until="PERM")).permanent
    assert not read(notam(until="UFN")).wholly_read


def test_an_end_before_the_beginning_is_not_believed() -> None:
    notice = read(notam(from_="2603141200", until="2603140700"))
    assert notice.until_at is None
    assert not notice.wholly_read


def test_a_schedule_is_kept_and_taken_as_all_day() -> None:
    notice = read(notam(schedule="0800-1000"))
    assert notice.schedule == "0800-1000"
    assert "D) 0800-1000" in notice.unread
    assert "all day" in " ".join(notice.problems)
    assert notice.in_force(Window(NOON, NOON.replace(hour=13)))


def test_the_heading_says_what_it_does_to_others() -> None:
    assert read(notam()).action is NoticeAction.NEW
    replacing = read(notam(kind="NOTAMR A0100/26"))
    assert (replacing.action, replacing.refers_to) == (NoticeAction.REPLACES, "A0100/26")
    cancelling = read(notam("MRAK", "RWY 27R", kind="NOTAMC A0100/26", until=None))
    assert (cancelling.action, cancelling.effect) == (NoticeAction.CANCELS, NoticeEffect.NONE)
    assert cancelling.wholly_read
    assert not read(notam(kind="NOTAMR")).wholly_read


def test_the_lines_of_a_feed_around_a_notice_do_no_harm() -> None:
    assert read(f"{notam()} CREATED: 14 Mar 2026 05:00:00 SOURCE: XXXXYNYX").wholly_read
    assert not read(f"{notam()} AND MORE").wholly_read


def test_a_text_without_its_last_bracket_is_not_taken_for_whole() -> None:
    whole = notam()
    cut = [whole[:end] for end in range(1, len(whole))]
    assert [each for each in cut if read(each).wholly_read] == []


@pytest.mark.parametrize("raw", ["junk", " ", "(", ")", "Q)", "SNOWTAM", "(SNOWTAM 0001 XKAL)"])
def test_what_is_no_notice_is_listed_whole(raw: str) -> None:
    notice = read(raw)
    assert not notice.wholly_read
    assert notice.effect is NoticeEffect.UNKNOWN


VOCABULARY = st.sampled_from(
    [
        *notam(schedule="0800-1000").split(),
        *snowtam(rest=" RWY 09L REDUCED TO 1800. TWY B POOR.").split(),
        *words(),
        *(f"XXXX/Q{a}{b}/IV/NBO/A/000/999" for a in list(subjects())[:8] for b in states()),
        "A)", "Q)", "F) SFC", "G) UNL", "PERM", "(SNOWTAM", "EST", "LDA", "1500M", "CAT", "7",
        "32", "09L/27R", "(", ")", ".", "CREATED:", "2603141200", "03140600", "XTOR",
    ]
)  # fmt: skip


def _written(text: str) -> str:
    """Everything that is written, but for blanks and brackets."""
    return "".join(text.split()).replace("(", "").replace(")", "")


@given(
    st.one_of(
        st.lists(VOCABULARY, max_size=25).map(" ".join),
        st.text(max_size=200),
        st.tuples(st.sampled_from([notam(), snowtam()]), st.integers(0, 120), st.text(max_size=5))
        .map(lambda given: given[0][: given[1]] + given[2] + given[0][given[1] :]),
    )
)  # fmt: skip
def test_a_reader_never_raises_and_lists_every_word_in_a_part(raw: str) -> None:
    notice = read(raw)
    kept = " ".join(part.raw for part in notice.items)
    assert _written(kept) == _written(raw)
    assert notice.unread == tuple(part.raw for part in notice.items if not part.read)
    if notice.kind is NoticeKind.UNREADABLE:
        assert not notice.wholly_read


@given(st.lists(VOCABULARY, max_size=25).map(" ".join))
def test_whatever_is_read_has_a_subject_or_says_that_it_is_not_wholly_read(raw: str) -> None:
    notice = read(raw)
    known = notice.subject is not None and notice.effect is not NoticeEffect.UNKNOWN
    assert known or not notice.wholly_read
    assert notice.places or not notice.wholly_read
