"""`python -m service`, installed `approach-service`: check the settings, then be the server."""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Sequence
from typing import Final, NoReturn

from decision.options import Options
from service.settings import SETTINGS, Settings, SettingsError, settings_from
from service.shared_counts import make_shared

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
    _options().parse_args(arguments)
    try:
        _prepare(settings_from(os.environ))
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        sys.exit(BAD_SETTINGS)
    make_shared()
    os.execv(sys.executable, (sys.executable, *SERVER))  # noqa: S606  # no shell, fixed arguments


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
    return Options(
        name="approach-service",
        module="service",
        description="Serve decisions over HTTP until stopped. Settings come from the environment.",
        after=f"settings:\n{rows}",
    )


def _indented(text: str) -> str:
    return textwrap.fill(text, width=80, initial_indent="      ", subsequent_indent="      ")


if __name__ == "__main__":
    main()
