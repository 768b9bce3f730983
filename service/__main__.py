"""`python -m service`, installed `approach-service`: check the settings, then be the server."""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Mapping, Sequence
from typing import Final, NoReturn

from decision.options import Options
from service.settings import SETTINGS, Settings, SettingsError, settings_from
from service.shared_counts import make_shared

FINE: Final = 0
BAD_SETTINGS: Final = 2
SERVER: Final = (
    "-m",
    "gunicorn",
    "--config",
    "python:service.server",
    "service.wsgi:application()",
)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Replace this process by the server, or exit 2: wrong settings, or nobody could call."""
    asked = _options().parse_args(arguments)
    if asked.check_config:
        sys.exit(_check(os.environ))
    try:
        _prepare(settings_from(os.environ))
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        sys.exit(BAD_SETTINGS)
    make_shared()
    os.execv(sys.executable, (sys.executable, *SERVER))  # noqa: S606  # no shell, fixed arguments


def _check(environment: Mapping[str, str]) -> int:
    """Tell the settings, and what a start with them would find; the exit code."""
    from service.check_config import Bearing, checked, told_settings  # noqa: PLC0415 - as below

    print(*told_settings(environment), sep="\n")
    try:
        found = tuple(checked(settings_from(environment)))
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        return BAD_SETTINGS
    print("", *(each.line for each in found), sep="\n")
    return BAD_SETTINGS if Bearing.PROBLEM in {each.weight for each in found} else FINE


def _prepare(settings: Settings) -> None:
    """Know that somebody can call. Raises: SettingsError."""
    if settings.stands_open:
        return  # the store is opened by the server alone
    from service.door.opening import prepare  # noqa: PLC0415 - what most starts need not load
    from service.store import StoreUnavailable  # noqa: PLC0415

    try:
        prepare(settings)
    except StoreUnavailable as error:
        raise SettingsError((f"APPROACH_STORE: {error}",)) from error


def _options() -> Options:
    rows = "\n".join(f"  {each.variable}\n{_indented(each.help)}" for each in SETTINGS)
    options = Options(
        name="approach-service",
        module="service",
        description="Serve decisions over HTTP until stopped. Settings come from the environment.",
        after=f"settings:\n{rows}",
    )
    options.add_argument(
        "--check-config",
        action="store_true",
        help="tell every setting and what a start would find, start nothing; exit 0, or 2 with"
        " what would keep it from starting",
    )
    return options


def _indented(text: str) -> str:
    return textwrap.fill(text, width=80, initial_indent="      ", subsequent_indent="      ")


if __name__ == "__main__":
    main()
