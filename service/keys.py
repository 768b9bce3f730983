"""`python -m service.keys`: keys of those who may call, in the store that the settings name.

The text of a key is shown once, when it is made; what is kept is its SHA-256. Scopes are decide (to
have something decided), read (to see what there is, and to use the tools) and admin (to see who did
what); none includes another.

Exit 1: no such key; 2: wrong settings or arguments; 3: the store cannot be used, and why.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import asdict
from datetime import timedelta
from typing import Final

from service.clock import rfc3339, utc_now
from service.door.opening import opened_access
from service.keytext import new_key
from service.overlap import OVERLAP_H, hours_of_overlap
from service.scopes import scopes_of
from service.settings import Settings, SettingsError, settings_from
from service.store import StoreUnavailable
from service.store.access import KeyThere, NewKey, NoSuchKey, SqlAccess
from service.store.tables import NAME_LENGTH
from service.store.upkeep import bring_up_to_date

FINE: Final = 0
NOT_SO: Final = 1
BAD_SETTINGS: Final = 2
UNUSABLE: Final = 3
COMMAND: Final = "command"
SHOWN_ONCE: Final = "The text of the key is shown this once."
LONGEST_DAYS: Final = 3_660


def _create(access: SqlAccess, asked: argparse.Namespace) -> None:
    key, at = new_key(os.urandom), utc_now()
    access.create(
        NewKey(
            identifier=key.identifier,
            name=asked.name,
            scopes=asked.scope,
            digest=key.digest,
            expires_at=None if asked.days is None else at + timedelta(days=asked.days),
        ),
        by=COMMAND,
        at=at,
    )
    _show(key.text)


def _rotate(access: SqlAccess, asked: argparse.Namespace) -> None:
    key, at = new_key(os.urandom, identifier=asked.identifier), utc_now()
    until = at + timedelta(hours=asked.overlap_hours)
    access.rotate(asked.identifier, digest=key.digest, by=COMMAND, at=at, until=until)
    print(f"What opened before opens until {rfc3339(until)}.", file=sys.stderr)
    _show(key.text)


def _revoke(access: SqlAccess, asked: argparse.Namespace) -> None:
    access.revoke(asked.identifier, by=COMMAND, at=utc_now())
    print(f"{asked.identifier} opens nothing any more; servers see it within 5 s.")


def _list(access: SqlAccess, _asked: argparse.Namespace) -> None:
    for each in access.all_keys():
        print(json.dumps(asdict(each), ensure_ascii=False))


def _show(text: str) -> None:
    """The text alone on standard output, so that it can be put into a file."""
    print(SHOWN_ONCE, file=sys.stderr)
    print(text)


COMMANDS: Final[dict[str, Callable[[SqlAccess, argparse.Namespace], None]]] = {
    "create": _create,
    "rotate": _rotate,
    "revoke": _revoke,
    "list": _list,
}


def _options() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m service.keys",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(dest="command", required=True)
    create = commands.add_parser("create", help="make a key, and show its text")
    create.add_argument("name", type=_name, help="whose it is, in your words")
    create.add_argument("--scope", type=_scopes, required=True, metavar="decide,read,admin")
    create.add_argument("--days", type=_days, help="how long it opens; without: until taken back")
    rotate = commands.add_parser("rotate", help="give a key another text, and show it")
    rotate.add_argument("identifier")
    rotate.add_argument(
        "--overlap-hours",
        type=hours_of_overlap,
        default=OVERLAP_H,
        help="how long the old one opens beside it; default: 24; 0: not at all",
    )
    revoke = commands.add_parser("revoke", help="take a key back, at once and for good")
    revoke.add_argument("identifier")
    commands.add_parser("list", help="tell every key, a line of JSON each; no texts")
    commands.add_parser("text", help="show the text of a key that is kept nowhere yet")
    return parser


def _name(text: str) -> str:
    if not text.strip() or len(text) > NAME_LENGTH or not text.isprintable():
        raise argparse.ArgumentTypeError(f"1 to {NAME_LENGTH} printable characters")
    return text


def _scopes(text: str) -> object:
    try:
        return scopes_of(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _days(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= LONGEST_DAYS):
        raise argparse.ArgumentTypeError(f"a whole number from 1 to {LONGEST_DAYS}")
    return int(text)


def main(arguments: Sequence[str] | None = None) -> int:
    """Do what is asked; the exit code."""
    asked = _options().parse_args(arguments)
    if asked.command == "text":
        _show(new_key(os.urandom).text)
        return FINE
    try:
        settings = settings_from(os.environ)
        return _done(settings, asked)
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        return BAD_SETTINGS
    except NoSuchKey as error:
        print(f"{error}: no key that opens anything has this identifier", file=sys.stderr)
        return NOT_SO
    except (StoreUnavailable, KeyThere) as error:
        print(error, file=sys.stderr)
        return UNUSABLE


def _done(settings: Settings, asked: argparse.Namespace) -> int:
    bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    access = opened_access(settings)
    try:
        COMMANDS[asked.command](access, asked)
    finally:
        access.close()
    return FINE


if __name__ == "__main__":
    sys.exit(main())
