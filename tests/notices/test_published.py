"""Published examples decode to what their sources say of them.

Each names its source and how it is known: "found" was read for this project, "memory" was written
down as remembered and proves no more than that the form is read.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, NamedTuple

import pytest

from decision.notices import NoticeAction, NoticeEffect, NoticeKind, NoticeSubject, ReadNotice
from decision.notices.codes import states, subjects
from tests.notices.builders import read

FEBRUARY = datetime(2021, 2, 17, 6, tzinfo=UTC)


class Example(NamedTuple):
    """A published text, and what its source says of it."""

    name: str
    source: str
    confidence: str
    text: str
    received_at: datetime
    says: dict[str, Any]


EXAMPLES = (
    Example(
        "eadd-0151",
        "EASA webinar on the global reporting format, 10 March 2021, slide of the report",
        "found",
        """GG EADBZQZX EADNZQZX EADSZQZX
070645 EADDYNYX
SWEA0151 EADD 02170055
(SNOWTAM 0151
EADD 02170055 09L 5/5/5 100/100/100 NR/NR/NR WET/WET/WET
EADD 02170135 09R 5/2/2 100/50/75 NR/06/06 WET/SLUSH/SLUSH
EADD 02170225 09C 2/3/1 75/100/100 06/12/12 SLUSH/WET SNOW/WET SNOW 30
RWY 09L SNOWBANK R20 FM CL. RWY 09C ADJ SNOWBANKS. TWY B POOR. APRON NORTH POOR.)""",
        FEBRUARY,
        {
            "id": "SNOWTAM 0151",
            "places": ("EADD",),
            "runways": ("09L", "09R", "09C"),
            "codes": [(5, 5, 5), (5, 2, 2), (2, 3, 1)],
            "coverage": [(100, 100, 100), (100, 50, 75), (75, 100, 100)],
            "depth": [(None, None, None), (None, 6.0, 6.0), (6.0, 12.0, 12.0)],
            "surface": [
                ("WET", "WET", "WET"),
                ("WET", "SLUSH", "SLUSH"),
                ("SLUSH", "WET SNOW", "WET SNOW"),
            ],
            "width": [None, None, 30.0],
            "times": ["00:55", "01:35", "02:25"],
            "wholly_read": True,
        },
    ),
    Example(
        "bgss-0510",
        "a SNOWTAM of Greenland as quoted on a public page on the new format",
        "quoted",
        "SWBG0510 BGSS 09141722 (SNOWTAM 0510 BGSS"
        " 09141722 13 6/6/6 NR/NR/NR NR/NR/NR DRY/DRY/DRY)",
        datetime(2026, 9, 14, 18, tzinfo=UTC),
        {
            "id": "SNOWTAM 0510",
            "places": ("BGSS",),
            "runways": ("13",),
            "codes": [(6, 6, 6)],
            "coverage": [(None, None, None)],
            "surface": [("DRY", "DRY", "DRY")],
            "times": ["17:22"],
            "wholly_read": True,
        },
    ),
    Example(
        "eadd-0149",
        "PANS-AIM appendix 4, example of a completed format",
        "memory",
        "SWEA0149 EADD 02170055 (SNOWTAM 0149 EADD"
        " 02170055 09L 5/5/5 100/100/100 NR/NR/NR WET/WET/WET)",
        FEBRUARY,
        {"runways": ("09L",), "codes": [(5, 5, 5)], "wholly_read": True},
    ),
    Example(
        "egll-a1484",
        "encyclopedia article on notices; number, code, B and C found, E by memory",
        "memory",
        "A1484/02 NOTAMN Q) EGTT/QMRXX/IV/NBO/A/000/999/5129N00028W005 A) EGLL"
        " B) 0208231540 C) 0210310500 EST"
        " E) RWY 09R/27L DUE WIP NO CENTRELINE, TDZ OR SALS LIGHTING AVBL",
        datetime(2002, 9, 1, tzinfo=UTC),
        {
            "id": "A1484/02",
            "places": ("EGLL",),
            "subject": NoticeSubject.RUNWAY,
            "effect": NoticeEffect.UNKNOWN,
            "runways": ("09R", "27L"),
            "from_at": datetime(2002, 8, 23, 15, 40, tzinfo=UTC),
            "until_at": datetime(2002, 10, 31, 5, tzinfo=UTC),
            "estimated": True,
            "wholly_read": False,
        },
    ),
    Example(
        "egll-a1234",
        "public page on the format of notices: a replacing one on a taxiway",
        "memory",
        "(A1234/06 NOTAMR A1212/06 Q)EGTT/QMXLC/IV/NBO/A/000/999/5129N00028W005 A)EGLL"
        " B)0609050500 C)0704300500 E)DUE WIP TWY B SOUTH CLSD BTN F AND R. TWY R CLSD"
        " BTN A AND B AND DIVERTED VIA NEW GREEN CL AND BLUE EDGE LGT. CTN ADZ)",
        datetime(2006, 9, 5, 6, tzinfo=UTC),
        {
            "action": NoticeAction.REPLACES,
            "refers_to": "A1212/06",
            "subject": NoticeSubject.NO_MATTER,
            "effect": NoticeEffect.NONE,
            "from_at": datetime(2006, 9, 5, 5, tzinfo=UTC),
            "until_at": datetime(2007, 4, 30, 5, tzinfo=UTC),
            "wholly_read": True,
        },
    ),
    Example(
        "lfpo-a2428",
        "encyclopedia article on notices: number with its office, times of twelve figures",
        "found",
        "LFFA-A2428/14 Q) LFFF/QFAXX/IV/NBO/A/000/999/4843N00223E005 A) LFPO PARIS ORLY"
        " B) 201404301316 C) 201410242130 E) ATTENTION OF CREWS",
        datetime(2014, 5, 1, tzinfo=UTC),
        {
            "subject": NoticeSubject.AERODROME,
            "effect": NoticeEffect.UNKNOWN,
            "places": (),
            "from_at": None,
            "until_at": None,
            "wholly_read": False,
        },
    ),
)


def said(notice: ReadNotice) -> dict[str, Any]:
    """What was read, in the words of the examples."""
    runs = notice.conditions
    return {
        **{name: getattr(notice, name) for name in notice.__struct_fields__},
        "wholly_read": notice.wholly_read,
        "codes": [tuple(each.code for each in run.thirds) for run in runs],
        "coverage": [tuple(each.coverage_percent for each in run.thirds) for run in runs],
        "depth": [tuple(each.depth_mm for each in run.thirds) for run in runs],
        "surface": [tuple(each.surface for each in run.thirds) for run in runs],
        "width": [run.width_m for run in runs],
        "times": [f"{run.assessed_at:%H:%M}" for run in runs],
    }


@pytest.mark.parametrize("example", EXAMPLES, ids=[each.name for each in EXAMPLES])
def test_a_published_example_decodes_to_what_its_source_says(example: Example) -> None:
    assert example.confidence in ("found", "quoted", "memory")
    found = said(read(example.text, received_at=example.received_at))
    assert {name: found[name] for name in example.says} == example.says


@pytest.mark.parametrize(
    ("letters", "subject"),
    [  # found: EUROCONTROL's specification of digital NOTAM, codes of ground lights and navaids
        ("IC", NoticeSubject.ILS),
        ("ID", NoticeSubject.ILS_DME),
        ("IG", NoticeSubject.GLIDE_PATH),
        ("IL", NoticeSubject.LOCALIZER),
        ("IN", NoticeSubject.LOCALIZER),
        ("IM", NoticeSubject.MIDDLE_MARKER),
        ("IO", NoticeSubject.OUTER_MARKER),
        ("ND", NoticeSubject.DME),
        ("NV", NoticeSubject.VOR),
        ("MD", NoticeSubject.DECLARED_DISTANCES),
    ],
)
def test_letters_stand_for_the_subject_that_a_source_gives_them(
    letters: str, subject: NoticeSubject
) -> None:
    assert subjects()[letters].subject is subject


def test_the_letters_of_a_cancellation_say_that_all_is_well_again() -> None:
    # found: Annex 15, appendix 6, the letters of cancellations
    assert {states()[each].state.value for each in ("AK", "AL", "AO", "CC")} == {"restored"}


def test_a_report_in_the_lettered_form_of_before_is_not_read_and_said_so() -> None:
    # found: a SNOWTAM of 2019 as quoted by a public registry page
    raw = (
        "SWES0698 ESSB 12261815 COR (SNOWTAM 0698 A) ESSB B) 12261815 C) 12 D) 2000 E) 20R"
        " F) 1/1/1 G) XX/XX/XX H) 5/5/5 J) 70/10L T) RWY 12 BA 67/72/67.)"
    )
    notice = read(raw, received_at=datetime(2019, 12, 26, 19, tzinfo=UTC))
    assert notice.kind is NoticeKind.SNOWTAM
    assert notice.effect is NoticeEffect.UNKNOWN
    assert notice.conditions == ()
    assert "before 2021" in " ".join(notice.problems)
