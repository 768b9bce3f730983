"""What must be so before the service starts: where it can be reached, somebody has a key."""

from __future__ import annotations

from typing import Final

from service.clock import Clock, utc_now
from service.keytext import KeyText
from service.scopes import GIVEN
from service.settings import Settings, SettingsError
from service.store.access import KeyThere, NewKey, SqlAccess
from service.store.engines import engine_for
from service.store.upkeep import bring_up_to_date

OF_THE_SETTINGS: Final = "settings"
FIRST_KEY_NAME: Final = "first key, from the settings"
NOBODY_COULD_CALL: Final = (
    "APPROACH_HOST is not loopback, and there is no key: nobody could call. Make one with"
    " `python -m service.keys create NAME --scope decide,read,admin`, or name a file with the text"
    " of one (`python -m service.keys text`) in APPROACH_ADMIN_KEY_FILE."
)
ANOTHER_KEY: Final = (
    "APPROACH_ADMIN_KEY: a key of this identifier is there with another secret; to change it, use"
    " `python -m service.keys rotate`"
)


def opened_access(settings: Settings) -> SqlAccess:
    """Keys, sessions and audit log of the store that the settings name; connects on first use."""
    return SqlAccess(engine_for(settings.store, timeout_s=settings.store_timeout_s))


def prepare(settings: Settings, *, clock: Clock = utc_now) -> None:
    """Keep the key of the settings, and know that somebody can call.

    Raises: SettingsError where nobody could; StoreUnavailable, StoreNotUnderstood.
    """
    if settings.stands_open and settings.admin_key is None:
        return
    bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    access = opened_access(settings)
    try:
        if settings.admin_key is not None:
            _keep_first(access, settings.admin_key, clock)
        vouched = settings.behind_proxy and bool(settings.identity_header)
        if not settings.stands_open and not vouched and not access.opens(clock()):
            raise SettingsError((NOBODY_COULD_CALL,))
    finally:
        access.close()


def _keep_first(access: SqlAccess, key: KeyText, clock: Clock) -> None:
    """Keep a key with every scope, unless it is there: one that was taken back stays so."""
    first = NewKey(
        identifier=key.identifier,
        name=FIRST_KEY_NAME,
        scopes=frozenset(GIVEN),
        digest=key.digest,
    )
    try:
        access.create(first, by=OF_THE_SETTINGS, at=clock())
    except KeyThere:
        if key.digest not in {each.digest for each in access.secrets_of(key.identifier)}:
            raise SettingsError((ANOTHER_KEY,)) from None
