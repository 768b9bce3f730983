"""Notices in decisions: an arrival sees what is in force when it arrives, and never good news."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.attempt.arrival import Arrival, window_of_approach
from decision.attempt.attempt import Role
from decision.case import Case, case_from_mapping
from decision.decide.attempts import JudgedAttempts
from decision.errors import InvalidCase
from decision.flight.situation import situation_of
from decision.rules.finding import FAIL, NOT_APPLICABLE, PASS, UNKNOWN, Finding, Outcome
from decision.windows import instant_text
from tests.notices.builders import AS_OF, PLACE, codes, decided, notam, snowtam, with_notices

MINIMUM = datetime(2026, 3, 14, 6, 20, 41, tzinfo=UTC)  # of the approach of the demo
CLOSED = notam()
STRUCTURED = {
    "place": PLACE,
    "subject": "runway",
    "effect": "closed",
    "runway": "27R",
    "from_at": "2026-03-14T00:00:00Z",
    "until_at": "2026-03-14T12:00:00Z",
}


def broken(answer: dict[str, Any], rule: str) -> list[str]:
    """What a rule is broken by, in its words."""
    return [
        each["text"]
        for each in answer["findings"]
        if each["rule"] == rule and each["outcome"] == "FAIL"
    ]


def found(*notices: Any, **changes: Any) -> dict[str, Any]:
    """The answer with its findings."""
    return decided(*notices, include=["findings"], **changes)


# --- what is in force is heeded and named ---


def test_without_notices_nothing_is_said_of_any() -> None:
    answer = found()
    assert answer["verdict"] == "GO"
    assert all(place["notices"] == [] for place in answer["reports"].values())
    assert not [each for each in codes(answer) if "NOTICE" in each]


@pytest.mark.parametrize("notice", [CLOSED, {"raw": CLOSED}, STRUCTURED])
def test_a_closed_runway_is_not_landed_on_and_the_notice_is_named(notice: Any) -> None:
    answer = found(notice)
    assert answer["verdict"] == "NO_GO"
    name = answer["reports"][PLACE]["notices"][0]["id"]
    [text, *_] = broken(answer, "AD-02")
    assert text == f"runway 27R is closed by {name}"
    assert any(each["notices"] == [name] for each in answer["attempts"].values())
    assert "NOTICES_IN_FORCE" in codes(answer)


def test_a_runway_is_closed_from_both_ends() -> None:
    assert decided(notam(words="RWY 09L CLSD"))["verdict"] == "NO_GO"


def test_a_closed_aerodrome_is_named_in_its_rule() -> None:
    answer = found(notam("FALC", "AD CLSD"))
    assert any("by A0123/26" in text for text in broken(answer, "AD-01"))


@pytest.mark.parametrize(
    ("code", "words", "says"),
    [
        ("ICAS", "ILS RWY 27R U/S", "ILS out"),
        ("IGAS", "GP RWY 27R U/S", "glide path out"),
        ("ILAS", "LOC RWY 27R U/S", "localizer out"),
        ("ICAS", "ILS U/S", "ILS out"),  # of whichever runway
    ],
)
def test_an_aid_that_is_out_takes_the_approach_that_needs_it(
    code: str, words: str, says: str
) -> None:
    answer = found(notam(code, words))
    assert answer["action"]["do"] != "APPROACH"
    assert any(says in text for text in broken(answer, "AP-01")), answer["findings"]


def test_an_approach_by_satellite_does_not_mind_an_ils_that_is_out() -> None:
    out = notam("ICAS", "ILS U/S", place="XTOR")  # which is flown to by RNP 32
    assert decided(out)["verdict"] == "GO"


def test_lights_that_are_out_raise_the_minimum() -> None:
    answer = found(notam("LAAS", "ALS RWY 27R U/S"))
    told = [each["text"] for each in answer["cautions"] if each["code"] == "MINIMA_NOT_AS_CHARTED"]
    assert any("approach lights out" in text for text in told)


def test_a_declared_distance_shortens_the_runway_and_never_lengthens_it() -> None:
    def lda_m(words: str) -> float:
        answer = found(notam("MDCH", words))
        here = [each for each in answer["attempts"].values() if each["runway"] == "27R"]
        return max(float(each["lda_m"]) for each in here)

    assert lda_m("RWY 27R LDA 1800M") == 1800
    assert lda_m("RWY 27R LDA 3900M") == 3000


def test_a_lower_rescue_category_counts_and_a_higher_one_does_not() -> None:
    assert "RESCUE_BELOW_CATEGORY" in codes(decided(notam("FFCG", "RFF CAT 5")))
    assert "RESCUE_BELOW_CATEGORY" not in codes(decided(notam("FFCG", "RFF CAT 10")))


def test_a_condition_report_gives_its_code_to_the_landing() -> None:
    answer = found(snowtam())
    here = [each for each in answer["attempts"].values() if each["runway"] == "27R"]
    assert {each["condition_code"] for each in here} == {2}


def test_an_old_condition_report_is_a_caution_and_leaves_the_condition_unknown() -> None:
    answer = found(snowtam("6/6/6 NR/NR/NR NR/NR/NR DRY/DRY/DRY", at="03131800"))
    assert "RUNWAY_REPORT_OLD" in codes(answer)
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    assert any("runway condition of XKAL" in each["what"] for each in answer["ask"])


def test_distances_of_a_take_off_alone_change_nothing_of_a_landing() -> None:
    answer = decided(notam("MDCH", "RWY 27R TORA 2000M ASDA 2000M"))
    assert answer["verdict"] == "GO"


# --- when ---


@pytest.mark.parametrize(
    ("from_at", "until_at", "closed"),
    [
        (AS_OF, MINIMUM, False),  # ends as the approach is at its minimum
        (AS_OF, MINIMUM + timedelta(seconds=1), True),
        (MINIMUM + timedelta(minutes=15, seconds=1), MINIMUM + timedelta(hours=1), False),
        (MINIMUM + timedelta(minutes=15), MINIMUM + timedelta(hours=1), True),
        (AS_OF - timedelta(hours=2), AS_OF, False),
        (AS_OF - timedelta(hours=2), None, True),
    ],
)
def test_an_arrival_sees_a_notice_inside_its_time_and_no_other(
    from_at: datetime, until_at: datetime | None, closed: bool
) -> None:
    until = {} if until_at is None else {"until_at": instant_text(until_at)}
    notice = {**STRUCTURED, "from_at": instant_text(from_at)}
    del notice["until_at"]
    assert (decided({**notice, **until})["verdict"] == "NO_GO") is closed


def test_an_estimated_end_is_not_an_end() -> None:
    past = {**STRUCTURED, "until_at": "2026-03-14T01:00:00Z"}
    assert decided(past)["verdict"] == "GO"
    assert decided({**past, "until_estimated": True})["verdict"] == "NO_GO"
    assert decided(notam(until="2603140100 EST"))["verdict"] == "NO_GO"


def test_a_schedule_that_is_not_read_is_in_force_all_day_and_said() -> None:
    answer = decided(notam(schedule="2000-2200"))
    assert answer["verdict"] == "NO_GO"
    assert "NOTICE_NOT_READ" in codes(answer)


def test_an_answer_holds_until_an_arrival_so_much_later_would_meet_another_notice() -> None:
    begins = {**STRUCTURED, "id": "B7/26", "from_at": "2026-03-14T06:40:00Z"}
    ends = decided(begins)["valid_until"]
    assert ends["at"] == "2026-03-14T06:14:18Z"  # 4 min 18 s later the window ends at 06:40
    assert ends["why"] == "B7/26 of XKAL begins for the arrival"
    grows_old = decided(snowtam("5/5/5 100/100/100 NR/NR/NR WET/WET/WET", at="03132238"))
    assert grows_old["valid_until"]["why"] == "SNOWTAM 0151 of XKAL is too old for the arrival"


# --- replaced and cancelled ---


def test_a_cancelled_notice_is_gone_and_what_cancels_it_says_nothing() -> None:
    cancel = notam(
        "MRAK", "RWY 27R", number="A0200/26", kind="NOTAMC A0123/26", from_="2603140500", until=None
    )
    answer = found(CLOSED, cancel)
    assert answer["verdict"] == "GO"
    assert not [each for each in codes(answer) if "NOTICE" in each]
    assert [each["in_force"] for each in answer["reports"][PLACE]["notices"]] == [False]


@pytest.mark.parametrize(
    "changes",
    [
        {"kind": "NOTAMC A0124/26"},  # another one
        {"kind": "NOTAMC"},
        {"place": "XTOR"},
        {"from_": "2603141200"},  # not yet
        {"from_": "26031412"},
        {"number": "A02/26"},
    ],
)
def test_a_notice_that_is_not_surely_cancelled_stands(changes: dict[str, str]) -> None:
    given = {"number": "A0200/26", "kind": "NOTAMC A0123/26", "from_": "2603140500", **changes}
    assert decided(CLOSED, notam("MRAK", "RWY 27R", until=None, **given))["verdict"] == "NO_GO"


def test_a_replacing_notice_takes_the_place_of_the_old_one_if_all_of_it_is_read() -> None:
    given = {"number": "A0200/26", "kind": "NOTAMR A0123/26", "from_": "2603140500"}
    other = notam(words="RWY 09R/27L CLSD", **given)
    assert decided(CLOSED, other)["verdict"] == "GO"
    unread = notam(words="RWY 09R/27L CLSD AND SOMETHING", **given)
    assert decided(CLOSED, unread)["verdict"] == "NO_GO"


# --- what is not read ---


def test_what_is_not_read_is_a_caution_on_the_place_and_asked_for() -> None:
    answer = decided(notam("OBCE", "CRANE ERECTED 300M NORTH OF THR 27R"))
    assert answer["verdict"] == "GO_WITH_CAUTION"
    [caution] = [each for each in answer["cautions"] if each["code"] == "NOTICE_NOT_READ"]
    assert PLACE in caution["text"]
    assert "CRANE" in caution["text"]
    assert any("A0123/26" in each["what"] for each in answer["ask"])
    assert any("A0123/26" in each for each in answer["unknowns"])


def test_a_notice_of_no_readable_place_may_be_of_any() -> None:
    assert decided("RWY 27R CLSD SOMEWHERE")["verdict"] == "GO_WITH_CAUTION"


def test_a_notice_of_another_place_is_said_not_to_be_used() -> None:
    answer = decided(notam(place="XZZZ"))
    assert answer["verdict"] == "GO"
    assert "NOTICE_NOT_USED" in codes(answer)


def test_a_closure_that_names_no_runway_leaves_all_of_them_in_doubt() -> None:
    answer = found(notam(words="CLSD"))
    assert answer["verdict"] == "INSUFFICIENT_DATA"
    doubts = [each for each in answer["findings"] if each["rule"] == "AD-02"]
    assert "UNKNOWN" in {each["outcome"] for each in doubts}


def test_a_length_that_cannot_be_read_leaves_the_runway_in_doubt() -> None:
    answer = decided(notam("MRLL", "RWY 27R USABLE LENGTH 1500M"))
    assert answer["verdict"] == "INSUFFICIENT_DATA"


def test_a_runway_that_the_case_has_not_is_a_caution() -> None:
    assert "NOTICE_NOT_READ" in codes(decided(notam(words="RWY 16 CLSD")))


ICE = snowtam("0/0/0 100/100/100 NR/NR/NR WET ICE/WET ICE/WET ICE")
IN_FORCE = (CLOSED, notam("ICAS", "ILS RWY 27R U/S"), notam("FALC", "AD CLSD"), ICE)


@pytest.mark.parametrize("text", IN_FORCE)
def test_a_whole_notice_of_these_is_read_and_no_go(text: str) -> None:
    answer = decided(text)
    assert answer["verdict"] == "NO_GO"
    assert "NOTICE_NOT_READ" not in codes(answer)


@pytest.mark.parametrize("text", IN_FORCE)
def test_a_notice_with_a_word_taken_out_never_leads_to_a_plain_go(text: str) -> None:
    split = text.split()
    shorter = [" ".join(split[:at] + split[at + 1 :]) for at in range(0, len(split), 2)]
    assert [each for each in shorter if decided(each)["verdict"] == "GO"] == []


@settings(max_examples=15)
@given(st.sampled_from(IN_FORCE), st.floats(0.02, 0.98))
def test_a_notice_cut_off_anywhere_never_leads_to_a_plain_go(text: str, share: float) -> None:
    assert decided(text[: int(len(text) * share) or 1])["verdict"] != "GO"


# --- a notice never makes anything better ---

OUTCOMES: dict[Outcome, int] = {FAIL: 0, UNKNOWN: 1, NOT_APPLICABLE: 2, PASS: 2}
MADE = st.builds(
    lambda pair, place, until: notam(*pair, place=place, until=until),
    st.sampled_from(
        [
            ("MRLC", "RWY 27R CLSD"),
            ("MRLC", "CLSD"),
            ("FALC", "AD CLSD"),
            ("MDCH", "RWY 27R LDA 1400M"),
            ("MDCH", "RWY 32 LDA 4000M"),
            ("FFCG", "RFF CAT 3"),
            ("FFCG", "RFF CAT 10"),
            ("FFCG", "RFF"),
            ("ICAS", "ILS U/S"),
            ("IGAS", "GP U/S"),
            ("IDAS", "DME U/S"),
            ("ICCG", "ILS DOWNGRADED TO CAT I"),
            ("LRAS", "ALL LIGHTS U/S"),
            ("LEAS", "RWY 27R EDGE LGT U/S"),
            ("ICAK", "ILS"),
            ("QQQQ", "WHATEVER"),
        ]
    ),
    st.sampled_from([PLACE, "XTOR", "XBRE"]),
    st.sampled_from(["2603142359", "2603140630", "PERM"]),
)


def judged(case: Case) -> dict[tuple[str, str, str], Finding]:
    """What is found on every approach of every place, by place, procedure and rule."""
    situation, attempts = situation_of(case), JudgedAttempts()
    told = {}
    for leg in situation.legs:
        arrival = Arrival(
            leg=leg,
            role=Role.COMMITTED if leg is case.destination else Role.ALTERNATE,
            at=MINIMUM,
            window=window_of_approach(MINIMUM),
            mass_kg=case.aircraft.mass_kg,
        )
        for each in attempts.at(situation, arrival):
            name = "" if each.attempt.approach is None else each.attempt.approach.id
            for finding in each.findings:
                told[leg.aerodrome.icao, name, finding.rule] = finding
    return told


@pytest.mark.parametrize("bar", ["in_flight", "planning"])
@settings(max_examples=30, deadline=None)
@given(
    notices=st.lists(MADE, min_size=1, max_size=3), name=st.sampled_from(["clean", "gear-stuck"])
)
def test_a_notice_never_makes_an_outcome_or_a_margin_better(
    bar: str, notices: list[str], name: str
) -> None:
    changes = {"policy": {"alternate_bar": bar}}
    before = judged(case_from_mapping(with_notices(name=name, **changes)))
    after = judged(case_from_mapping(with_notices(*notices, name=name, **changes)))
    assert before.keys() == after.keys()
    for key, finding in before.items():
        other = after[key]
        assert OUTCOMES[other.outcome] <= OUTCOMES[finding.outcome], (key, finding, other)
        if finding.margin is not None and other.margin is not None:
            assert other.margin <= finding.margin, (key, finding, other)


# --- the request ---


@pytest.mark.parametrize(
    ("notice", "pointer"),
    [
        ({}, "/notices/0/place"),
        ({**STRUCTURED, "raw": CLOSED}, "/notices/0/place"),
        ({**STRUCTURED, "subject": "rescue"}, "/notices/0/category"),
        ({**STRUCTURED, "effect": "downgraded"}, "/notices/0/effect"),
        ({**STRUCTURED, "until_at": "2026-03-14T00:00:00Z"}, "/notices/0/until_at"),
        ({**STRUCTURED, "runway": "40"}, "/notices/0/runway"),
        ("", "/notices/0"),
    ],
)
def test_a_notice_that_says_too_little_or_too_much_is_refused(notice: Any, pointer: str) -> None:
    with pytest.raises(InvalidCase) as caught:
        case_from_mapping(with_notices(notice))
    assert pointer in {fault.pointer for fault in caught.value.faults}
