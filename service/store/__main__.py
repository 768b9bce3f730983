"""`python -m service.store`: what is done with the store that the settings name.

    check    tell its form; exit 1 if this version would change it
    migrate  give it the present form, as the service does when it starts
    backup   copy an SQLite file beside itself
    head     tell the last link of the chain of records, to be noted elsewhere
    verify   look at every link and every body, and tell where the chain breaks;
             --head 'NUMBER LINK': it must still pass through a head that was noted
    purge    remove what is older than APPROACH_KEEP_DAYS, APPROACH_KEEP_KEYS_DAYS and
             APPROACH_KEEP_AUDIT_DAYS, sessions of browsers that have ended, events of watches and
             watches that have ended after 24 hours, reports after 48
    export   write everything as lines of JSON to the standard output
    import   read such lines from the standard input into an empty store

Exit 1: the chain breaks, or the form is another; 2: wrong settings or arguments; 3: the store
cannot be used, and why.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import Final

from sqlalchemy import Engine

from service.clock import utc_now
from service.settings import Settings, SettingsError, settings_from
from service.store.access import remove_sessions
from service.store.audit import remove_events
from service.store.chain import Head, head_of, signing_with
from service.store.engines import engine_for, reading, writing
from service.store.journal import EVENTS_KEPT, remove_watch_events
from service.store.moving import NotImported, export, take_in
from service.store.outbox import remove_sent
from service.store.port import StoreDamaged, StoreUnavailable
from service.store.proof import proof_of
from service.store.reports import REPORTS_KEPT, remove_reports
from service.store.retention import remove_decisions, remove_keys
from service.store.upkeep import (
    BACKUP_IS_DUE,
    PRESENT,
    back_up,
    bring_up_to_date,
    form_of,
    require_present_form,
)
from service.store.watching import remove_ended

FINE: Final = 0
NOT_SO: Final = 1
BAD_SETTINGS: Final = 2
UNUSABLE: Final = 3
NOTED: Final = re.compile(r"(\d+) ([0-9a-f]{64})")
UNSIGNED: Final = (
    "Not all links are signed: what has no signature proves only that the records agree with each"
    " other and with a head that was noted elsewhere."
)


def _check(settings: Settings, _asked: argparse.Namespace) -> int:
    with _engine(settings) as engine, reading(engine) as connection:
        found = form_of(connection)
    print(f"form {found or 'none: it has no tables'}; this version has form {PRESENT}")
    return FINE if found == PRESENT else NOT_SO


def _migrate(settings: Settings, _asked: argparse.Namespace) -> int:
    copy = bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    print(f"form {PRESENT}", *([] if copy is None else [f"copied before to {copy}"]), sep="; ")
    return FINE


def _backup(settings: Settings, _asked: argparse.Namespace) -> int:
    copy = back_up(settings.store, at=utc_now())
    print(BACKUP_IS_DUE if copy is None else f"copied to {copy}")
    return UNUSABLE if copy is None else FINE


def _head(settings: Settings, _asked: argparse.Namespace) -> int:
    with _present(settings) as engine, reading(engine) as connection:
        found = head_of(connection)
    print(found.sequence, found.link)
    return FINE


def _verify(settings: Settings, asked: argparse.Namespace) -> int:
    sign = signing_with(settings.signing_key)
    with _present(settings) as engine, reading(engine) as connection:
        found = proof_of(connection, sign=sign, known=asked.head)
    for each in found.breaks:
        print(each)
    if found.breaks:
        return NOT_SO
    print(f"whole: {found.head.sequence} links, {found.decisions} decisions with their bodies")
    if found.unsigned:
        print(UNSIGNED)
    return FINE


def _purge(settings: Settings, _asked: argparse.Namespace) -> int:
    at, sign = utc_now(), signing_with(settings.signing_key)
    with _present(settings) as engine, writing(engine) as connection:
        decisions = 0
        if settings.keep_days:
            before = at - timedelta(days=settings.keep_days)
            decisions = remove_decisions(connection, before=before, at=at, sign=sign)
        keys = remove_keys(connection, before=at - timedelta(days=settings.keep_keys_days))
        events = 0
        if settings.keep_audit_days:
            events = remove_events(connection, before=at - timedelta(days=settings.keep_audit_days))
        sessions = remove_sessions(connection, before=at)
        remove_ended(connection, before=at - EVENTS_KEPT)
        reports = remove_reports(connection, before=at - REPORTS_KEPT)
        told = remove_watch_events(connection, before=at - EVENTS_KEPT)
        sent = remove_sent(connection, before=at - EVENTS_KEPT, at=at)
    print(
        f"removed: bodies of {decisions} decisions, {keys} keys, {events} entries of the audit"
        f" log, {sessions} sessions, {told} events of watches, {sent} that were sent or failed,"
        f" {reports} reports"
    )
    return FINE


def _export(settings: Settings, _asked: argparse.Namespace) -> int:
    with _present(settings) as engine, reading(engine) as connection:
        count = export(connection, sys.stdout)
    print(f"{count} links", file=sys.stderr)
    return FINE


def _import(settings: Settings, _asked: argparse.Namespace) -> int:
    bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    with _present(settings) as engine, writing(engine) as connection:
        head = take_in(connection, sys.stdin)
    print(head.sequence, head.link)
    return FINE


@contextmanager
def _engine(settings: Settings) -> Iterator[Engine]:
    engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def _present(settings: Settings) -> Iterator[Engine]:
    """The store, if it has the present form. Raises: StoreNotUnderstood."""
    with _engine(settings) as engine:
        with reading(engine) as connection:
            require_present_form(connection)
        yield engine


def _noted(text: str) -> Head:
    found = NOTED.fullmatch(text.strip())
    if found is None:
        raise argparse.ArgumentTypeError("a number and a link, as `head` tells them")
    return Head(sequence=int(found[1]), link=found[2])


COMMANDS: Final[dict[str, Callable[[Settings, argparse.Namespace], int]]] = {
    "check": _check,
    "migrate": _migrate,
    "backup": _backup,
    "head": _head,
    "verify": _verify,
    "purge": _purge,
    "export": _export,
    "import": _import,
}


def main(arguments: list[str]) -> int:
    """Do what is asked; the exit code."""
    parser = argparse.ArgumentParser(
        prog="python -m service.store",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("command", choices=COMMANDS)
    parser.add_argument("--head", type=_noted, metavar="'NUMBER LINK'")
    asked = parser.parse_args(arguments)
    try:
        return COMMANDS[asked.command](settings_from(os.environ), asked)
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        return BAD_SETTINGS
    except (StoreUnavailable, StoreDamaged, NotImported) as error:
        print(error, file=sys.stderr)
        return UNUSABLE


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
