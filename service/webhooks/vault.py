"""Secrets in and out of the store, encrypted with the keys of the settings (Fernet).

The first of the keys encrypts; all of them decrypt, so that they can be changed one after the
other.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from cryptography.fernet import Fernet, InvalidToken, MultiFernet

from service.clock import Entropy
from service.store.webhook_secrets import KeptSecret
from service.webhooks.signing import SECRET_BYTES, SigningKey

ID_BYTES: Final = 6
ID_PREFIX: Final = "whs"  # webhook secret


class VaultClosed(Exception):
    """A secret cannot be read: the keys of the settings are not those it was kept under."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSecret:
    """A new secret as it is shown, once; `text` is the secret in Base64."""

    secret_id: str
    version: int
    text: str = field(repr=False)

    @property
    def key_id(self) -> str:
        """What signatures name it by."""
        return key_id(self.secret_id, self.version)


class Vault:
    """Encrypts and decrypts. Raises: ValueError for keys that are none, on building."""

    def __init__(self, keys: Sequence[str]) -> None:
        self._fernet = MultiFernet([Fernet(each) for each in keys])

    def closed(self, secret: bytes) -> str:
        """A secret as it is kept."""
        return self._fernet.encrypt(secret).decode("ascii")

    def opened(self, kept: KeptSecret) -> SigningKey:
        """What signs. Raises: VaultClosed."""
        try:
            secret = self._fernet.decrypt(kept.encrypted)
        except InvalidToken:
            raise VaultClosed(kept.secret_id) from None
        return SigningKey(key_id=key_id(kept.secret_id, kept.version), secret=secret)

    def closed_anew(self, kept: KeptSecret) -> str:
        """The same secret under the first key. Raises: VaultClosed."""
        try:
            return self._fernet.rotate(kept.encrypted).decode("ascii")
        except InvalidToken:
            raise VaultClosed(kept.secret_id) from None


def new_secret(entropy: Entropy) -> bytes:
    """256 random bits."""
    return entropy(SECRET_BYTES)


def new_secret_id(entropy: Entropy) -> str:
    """A name that no other secret has; it is no secret itself."""
    return f"{ID_PREFIX}-{entropy(ID_BYTES).hex()}"


def key_id(secret_id: str, version: int) -> str:
    """What signatures name a version by."""
    return f"{secret_id}.{version}"


def text_of(secret: bytes) -> str:
    """A secret as it is shown: Base64, of which a receiver takes the bytes."""
    return base64.b64encode(secret).decode("ascii")


def new_vault_key() -> str:
    """A key for the settings."""
    return Fernet.generate_key().decode("ascii")
