"""Notices: one text or its members -> a read notice; all of them -> what stands at a place."""

from decision.notices.collect import (
    NoticesAtPlace,
    StandingNotices,
    closing_notices,
    read_notice,
    read_notices,
    standing_notices,
)
from decision.notices.types import (
    Notice,
    NoticeAction,
    NoticeEffect,
    NoticeKind,
    NoticeSubject,
    ReadNotice,
)

__all__ = [
    "Notice",
    "NoticeAction",
    "NoticeEffect",
    "NoticeKind",
    "NoticeSubject",
    "NoticesAtPlace",
    "ReadNotice",
    "StandingNotices",
    "closing_notices",
    "read_notice",
    "read_notices",
    "standing_notices",
]
