"""`python -m service.store check|migrate|backup`: the form of the store that the settings name.

    check    tell its form; exit 1 if this version would change it
    migrate  give it the present form, as the service does when it starts
    backup   copy an SQLite file beside itself

Exit 2: wrong settings; 3: the store cannot be used, and why.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from typing import Final

from service.clock import utc_now
from service.settings import Settings, SettingsError, settings_from
from service.store.engines import engine_for, reading
from service.store.port import StoreUnavailable
from service.store.upkeep import BACKUP_IS_DUE, PRESENT, back_up, bring_up_to_date, form_of

FINE: Final = 0
TO_DO: Final = 1
BAD_SETTINGS: Final = 2
UNUSABLE: Final = 3


def _check(settings: Settings) -> int:
    engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
    with reading(engine) as connection:
        found = form_of(connection)
    engine.dispose()
    print(f"form {found or 'none: it has no tables'}; this version has form {PRESENT}")
    return FINE if found == PRESENT else TO_DO


def _migrate(settings: Settings) -> int:
    copy = bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    print(f"form {PRESENT}", *([] if copy is None else [f"copied before to {copy}"]), sep="; ")
    return FINE


def _backup(settings: Settings) -> int:
    copy = back_up(settings.store, at=utc_now())
    print(BACKUP_IS_DUE if copy is None else f"copied to {copy}")
    return UNUSABLE if copy is None else FINE


COMMANDS: Final[dict[str, Callable[[Settings], int]]] = {
    "check": _check,
    "migrate": _migrate,
    "backup": _backup,
}


def main(arguments: list[str]) -> int:
    """Do what is asked; the exit code."""
    parser = argparse.ArgumentParser(
        prog="python -m service.store",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("command", choices=COMMANDS)
    asked = parser.parse_args(arguments)
    try:
        return COMMANDS[asked.command](settings_from(os.environ))
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        return BAD_SETTINGS
    except StoreUnavailable as error:
        print(error, file=sys.stderr)
        return UNUSABLE


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
