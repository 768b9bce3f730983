"""What `python -m service --check-config` tells: every setting, and what a start would find.

Nothing is made, migrated or kept. A problem is what would keep the service from starting or from
recording; a warning is what it would start with, and do less.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from sqlalchemy import make_url
from sqlalchemy.exc import ArgumentError

from decision.errors import DataError
from decision.legible import on_one_line
from service.aerodromes.folder import COMPILE, library_from
from service.aerodromes.index import INDEX
from service.clock import Clock, utc_now
from service.door.opening import ANOTHER_KEY, NOBODY_COULD_CALL, opened_access
from service.keytext import KeyText
from service.settings import FILE_SUFFIX, SETTINGS, Setting, Settings
from service.store.access import SqlAccess
from service.store.engines import engine_for, reading
from service.store.port import StoreUnavailable
from service.store.upkeep import PRESENT, form_of
from service.store.webhook_secrets import SqlWebhookSecrets
from service.webhooks.vault import Vault, VaultClosed, key_id

CONNECT_S: Final = 3.0  # [ASSUMED] as long as anybody waits for a check
PORTS: Final = {"https": 443, "http": 80}
SQLITE: Final = "sqlite"


class Bearing(StrEnum):
    """What a line of the check means for a start."""

    FINE = "ok"
    WARNING = "warning"
    PROBLEM = "problem"


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedAt:
    """One thing that was looked at, and what was seen."""

    what: str
    told: str
    weight: Bearing = Bearing.FINE

    @property
    def line(self) -> str:
        """As it is printed."""
        return f"{self.weight:8} {self.what}: {on_one_line(self.told)}"


def told_settings(environment: Mapping[str, str]) -> Iterator[str]:
    """A line for each setting; of a secret only whether it is there."""
    widest = max(len(each.variable) for each in SETTINGS)
    for each in SETTINGS:
        yield f"{each.variable:{widest}}  {_told(each, environment)}"


def _told(setting: Setting, environment: Mapping[str, str]) -> str:
    if setting.variable + FILE_SUFFIX in environment and setting.secret:
        return "set, by a file"
    if setting.variable in environment:
        return "set" if setting.secret else on_one_line(environment[setting.variable])
    return f"{setting.default or '-'} (default)"


def checked(settings: Settings, *, clock: Clock = utc_now) -> Iterator[LookedAt]:
    """Everything that a start would need, looked at."""
    yield _listening(settings)
    store = _store(settings)
    yield store
    if store.weight is Bearing.FINE:  # it has the keys
        yield _keys(settings, clock=clock)
    yield _aerodromes(settings)
    yield _weather(settings)
    yield _webhooks(settings)


def _listening(settings: Settings) -> LookedAt:
    """Whether the address is one of this machine; whether the port is free is for the start."""
    what = f"{settings.host}:{settings.port}"
    try:
        family, kind, _, _, address = socket.getaddrinfo(
            settings.host.strip("[]"), 0, type=socket.SOCK_STREAM
        )[0]
        with closing(socket.socket(family, kind)) as probe:
            probe.bind(address)
    except OSError as error:
        return LookedAt(
            what="address", told=f"{what} cannot be listened on: {error}", weight=Bearing.PROBLEM
        )
    return LookedAt(what="address", told=what)


def _store(settings: Settings) -> LookedAt:
    try:
        url = make_url(settings.store)
    except (ArgumentError, ValueError):  # its words may repeat the address, with its password
        return _no_store("its address cannot be read")
    file = Path(url.database or "").absolute() if url.get_backend_name() == SQLITE else None
    where = str(file) if file else f"{url.get_backend_name()} at {url.host}, {url.database}"
    if file is not None and not file.exists():
        return _to_be_made(file)
    if file is not None and not all(os.access(each, os.W_OK) for each in (file, file.parent)):
        return _no_store(f"{where} may only be read")
    try:
        form = _form(settings)
    except StoreUnavailable as error:
        return _no_store(f"{where}: {error}")
    if form == PRESENT:
        return LookedAt(what="store", told=f"{where}, form {form}")
    found = f"has form {form}" if form else "has no tables"
    return LookedAt(what="store", told=f"{where} {found}; a start brings it to form {PRESENT}")


def _form(settings: Settings) -> str | None:
    engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
    try:
        with reading(engine) as connection:
            return form_of(connection)
    finally:
        engine.dispose()


def _to_be_made(file: Path) -> LookedAt:
    """Of an SQLite file that is not there: whether the first folder above it may be written in."""
    folder = next(each for each in file.parents if each.exists())
    if not folder.is_dir() or not os.access(folder, os.W_OK | os.X_OK):
        return _no_store(f"{file} is not there, and {folder} may not be written in")
    return LookedAt(what="store", told=f"{file} is not there; a start makes it")


def _no_store(told: str) -> LookedAt:
    return LookedAt(what="store", told=told, weight=Bearing.PROBLEM)


def _keys(settings: Settings, *, clock: Clock) -> LookedAt:
    """Who could call."""
    access = opened_access(settings)
    try:
        if settings.admin_key is not None and _is_another(access, settings.admin_key):
            return LookedAt(what="keys", told=ANOTHER_KEY, weight=Bearing.PROBLEM)
        if settings.stands_open:
            return LookedAt(what="keys", told="nobody is asked: on loopback, no proxy in front")
        if settings.admin_key is not None:
            return LookedAt(
                what="keys", told=f"that of the settings, {settings.admin_key.identifier}"
            )
        if settings.behind_proxy and settings.identity_header:
            return LookedAt(what="keys", told="a proxy names callers")
        if _opens(access, clock):
            return LookedAt(what="keys", told="the store has one or more that open")
        return LookedAt(what="keys", told=NOBODY_COULD_CALL, weight=Bearing.PROBLEM)
    finally:
        access.close()


def _is_another(access: SqlAccess, key: KeyText) -> bool:
    """Whether the store has the identifier with another secret; a store without tables has none."""
    try:
        there = {each.digest for each in access.secrets_of(key.identifier)}
    except StoreUnavailable:
        return False
    return bool(there) and key.digest not in there


def _opens(access: SqlAccess, clock: Clock) -> bool:
    try:
        return access.opens(clock())
    except StoreUnavailable:  # told of the store, or its form has no keys yet
        return False


def _aerodromes(settings: Settings) -> LookedAt:
    """Whether the operator's are read, and which."""
    what = "aerodromes"
    if settings.aerodromes is None:
        return LookedAt(what=what, told="the invented ones that come with the service")
    try:
        library = library_from(settings.aerodromes)
    except (DataError, OSError) as error:
        return LookedAt(what=what, told=str(error), weight=Bearing.PROBLEM)
    count = library.gazette.count
    told = f"{count} in {settings.aerodromes}, digest {library.gazette.digest}"
    compiled = (settings.aerodromes / INDEX).exists()
    if count > FEW and not compiled:
        told += f"; each start reads them all: {COMPILE} {settings.aerodromes}"
        return LookedAt(what=what, told=told, weight=Bearing.WARNING)
    return LookedAt(what=what, told=f"{told}{', compiled' if compiled else ''}")


FEW: Final = 300  # [ASSUMED] aerodromes that are read in half a second


def _weather(settings: Settings) -> LookedAt:
    """Whether the host of the source takes a connection; nothing is asked of it."""
    template, what = settings.weather_url, "weather source"
    if template is None:
        return LookedAt(what=what, told="none: nothing is fetched")
    address = urlsplit(template.text)
    port = address.port or PORTS[address.scheme]
    try:
        socket.create_connection((template.host, port), timeout=CONNECT_S).close()
    except OSError as error:
        told = f"{template.host}:{port} takes no connection ({error}); what it has stays unknown"
        return LookedAt(what=what, told=told, weight=Bearing.WARNING)
    return LookedAt(what=what, told=f"{template.host}:{port} takes connections; nothing was asked")


def _webhooks(settings: Settings) -> LookedAt:
    """Whether webhooks can be sent, and whether the secrets that are kept can be read."""
    what, hosts = "webhooks", ", ".join(settings.webhook_hosts)
    if not (hosts or settings.webhook_key):
        return LookedAt(what=what, told="none: nothing is sent")
    if not (hosts and settings.webhook_key):
        missing = "APPROACH_WEBHOOK_KEY" if hosts else "APPROACH_WEBHOOK_HOSTS"
        told = f"{missing} is missing: nothing is sent"
        return LookedAt(what=what, told=told, weight=Bearing.WARNING)
    closed = _unreadable(settings)
    if closed:
        told = (
            f"secrets that the key does not open: {', '.join(closed)}; what they sign is not sent"
        )
        return LookedAt(what=what, told=told, weight=Bearing.WARNING)
    return LookedAt(what=what, told=f"to {hosts}; nothing was asked of them")


def _unreadable(settings: Settings) -> list[str]:
    """The secrets that the keys of the settings do not open; of a store without tables, none."""
    vault = Vault(settings.webhook_key)
    engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
    found = []
    try:
        for each in SqlWebhookSecrets(engine).all():
            try:
                vault.opened(each)
            except VaultClosed:
                found.append(key_id(each.secret_id, each.version))
    except StoreUnavailable:  # told of the store, or its form has none yet
        return []
    finally:
        engine.dispose()
    return found
