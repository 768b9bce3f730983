"""`/v1/notices/decode`: what is read of notices, and what is not."""

from __future__ import annotations

from http import HTTPStatus

from decision.answer.calculators import DecodedNotices
from decision.case.derive import record_of
from decision.case.sense import notice_faults
from decision.errors import InvalidCase
from decision.notices import read_notices
from service.address import Address
from service.problems import OUT_OF_RANGE
from service.scopes import Scope
from service.shapes import NoticesQuestion


@Address(
    "POST",
    "/v1/notices/decode",
    tag="tools",
    scope=Scope.READ,
    summary="What notices say: NOTAM and SNOWTAM item by item, with what was not read.",
    body=record_of(NoticesQuestion),
    example={
        "notices": [
            "(A0123/26 NOTAMR A0100/26 Q) XXXX/QMRLC/IV/NBO/A/000/999/5129N00028W005 A) XAAA"
            " B) 2601310500 C) 2601311200 EST D) 0600-1000 E) RWY 09/27 CLSD DUE WIP)",
            "(A0124/26 NOTAMN Q) XXXX/QMDCH/IV/NBO/A/000/999/5129N00028W005 A) XAAA"
            " B) 2601310500 C) PERM E) RWY 18 LDA 1800M)",
            "(A0125/26 NOTAMN Q) XXXX/QFFCG/IV/NBO/A/000/999/5129N00028W005 A) XAAA"
            " B) 2601310500 C) 2601311200 E) RFF DOWNGRADED TO CAT 7)",
            "(SNOWTAM 0151 XAAA 01310455 09 5/2/2 100/50/75 NR/06/06 WET/SLUSH/SLUSH 30"
            " 01310455 18 X/5/5 100/100/100 NR/NR/NR WET/WET/WET"
            " RWY 09 REDUCED TO 1800. TWY B POOR.)",
        ],
        "received_at": "2026-01-31T06:00:00Z",
    },
    successes={HTTPStatus.OK: "The notices, in the same order, each part of a text read or not."},
    raises=(OUT_OF_RANGE,),
)
def decode_notices(asked: NoticesQuestion) -> DecodedNotices:
    """Each notice by itself: which of them cancels another is told, not done. Raises InvalidCase.

    A notice by its members is checked as in a case.
    """
    faults = notice_faults(asked.notices)
    if faults:
        raise InvalidCase(faults)
    return DecodedNotices(notices=read_notices(asked.notices, received_at=asked.received_at))
