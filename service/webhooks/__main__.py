"""`python -m service.webhooks`: secrets that webhooks are signed with.

A secret has 256 random bits and is shown once, when it is made, in Base64; a receiver signs with
the bytes. It is kept under `APPROACH_WEBHOOK_KEY`. Signatures name it by its id and version.

Exit 1: no such secret, or it cannot be read; 2: wrong settings or arguments; 3: the store cannot be
used, and why.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Sequence
from datetime import timedelta
from typing import Final

from service.clock import rfc3339, utc_now
from service.overlap import OVERLAP_H, hours_of_overlap
from service.settings import PREFIX, Settings, SettingsError, settings_from
from service.store.engines import engine_for
from service.store.port import StoreUnavailable
from service.store.upkeep import bring_up_to_date
from service.store.webhook_secrets import NoSuchSecret, SqlWebhookSecrets
from service.webhooks.vault import (
    ShownSecret,
    Vault,
    VaultClosed,
    new_secret,
    new_secret_id,
    new_vault_key,
    text_of,
)

FINE: Final = 0
NOT_SO: Final = 1
BAD_SETTINGS: Final = 2
UNUSABLE: Final = 3
NO_KEY: Final = f"{PREFIX}WEBHOOK_KEY: is needed; `python -m service.webhooks key` makes one"
SHOWN: Final = ("secret_id", "version", "created_at", "ends_at", "revoked_at")


def _create(secrets: SqlWebhookSecrets, vault: Vault, _asked: argparse.Namespace) -> None:
    secret, secret_id = new_secret(os.urandom), new_secret_id(os.urandom)
    secrets.create(secret_id, encrypted=vault.closed(secret), at=utc_now())
    _show(ShownSecret(secret_id=secret_id, version=1, text=text_of(secret)))


def _rotate(secrets: SqlWebhookSecrets, vault: Vault, asked: argparse.Namespace) -> None:
    secret, at = new_secret(os.urandom), utc_now()
    until = at + timedelta(hours=asked.overlap_hours)
    encrypted = vault.closed(secret)
    version = secrets.rotate(asked.secret_id, encrypted=encrypted, at=at, until=until)
    print(f"The version before signs beside it until {rfc3339(until)}.", file=sys.stderr)
    _show(ShownSecret(secret_id=asked.secret_id, version=version, text=text_of(secret)))


def _revoke(secrets: SqlWebhookSecrets, _vault: Vault, asked: argparse.Namespace) -> None:
    secrets.revoke(asked.secret_id, at=utc_now())
    print(f"{asked.secret_id} signs no more; what waits to be sent with it fails.")


def _list(secrets: SqlWebhookSecrets, _vault: Vault, _asked: argparse.Namespace) -> None:
    for each in secrets.all():
        print(json.dumps({name: getattr(each, name) for name in SHOWN}))


def _encrypt_anew(secrets: SqlWebhookSecrets, vault: Vault, _asked: argparse.Namespace) -> None:
    kept = secrets.all()
    for each in kept:
        secrets.encrypt_anew(each, encrypted=vault.closed_anew(each))
    print(f"{len(kept)} versions are kept under the first key.")


def _show(secret: ShownSecret) -> None:
    """The secret alone on standard output, so that it can be put into a file."""
    print(f"secret_id {secret.secret_id}, keyid {secret.key_id}", file=sys.stderr)
    print("The secret is shown this once.", file=sys.stderr)
    print(secret.text)


COMMANDS: Final[dict[str, Callable[[SqlWebhookSecrets, Vault, argparse.Namespace], None]]] = {
    "create": _create,
    "rotate": _rotate,
    "revoke": _revoke,
    "list": _list,
    "encrypt-anew": _encrypt_anew,
}


def _options() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m service.webhooks",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("create", help="make a secret, and show it")
    rotate = commands.add_parser("rotate", help="make another version of a secret, and show it")
    rotate.add_argument("secret_id")
    rotate.add_argument(
        "--overlap-hours",
        type=hours_of_overlap,
        default=OVERLAP_H,
        help="how long the version before signs beside it; default: 24; 0: not at all",
    )
    revoke = commands.add_parser("revoke", help="have a secret sign no more, at once and for good")
    revoke.add_argument("secret_id")
    commands.add_parser("list", help="tell every version, a line of JSON each; no secrets")
    commands.add_parser("encrypt-anew", help="keep all under the first key of the settings")
    commands.add_parser("key", help=f"show a key for {PREFIX}WEBHOOK_KEY; it is kept nowhere")
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Do what is asked; the exit code."""
    asked = _options().parse_args(arguments)
    if asked.command == "key":
        print(new_vault_key())
        return FINE
    try:
        return _done(settings_from(os.environ), asked)
    except SettingsError as error:
        print(*error.problems, sep="\n", file=sys.stderr)
        return BAD_SETTINGS
    except NoSuchSecret as error:
        print(f"{error}: no secret of this id signs anything", file=sys.stderr)
        return NOT_SO
    except VaultClosed as error:
        print(f"{error}: was not kept under a key of {PREFIX}WEBHOOK_KEY", file=sys.stderr)
        return NOT_SO
    except StoreUnavailable as error:
        print(error, file=sys.stderr)
        return UNUSABLE


def _done(settings: Settings, asked: argparse.Namespace) -> int:
    if not settings.webhook_key:
        raise SettingsError((NO_KEY,))
    bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
    try:
        COMMANDS[asked.command](SqlWebhookSecrets(engine), Vault(settings.webhook_key), asked)
    finally:
        engine.dispose()
    return FINE


if __name__ == "__main__":
    sys.exit(main())
