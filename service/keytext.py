"""The text of a key: a word that scanners of leaked secrets find, an identifier, and a secret.

The identifier is no secret: logs, lists and records name a key by it. The secret has 256 random
bits, so that a plain digest of the text can be kept: nobody can try them all.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, field
from typing import Final

from service.clock import Entropy

WORD: Final = "apdk"  # approach decisions, key
IDENTIFIER_BYTES: Final = 6
SECRET_BYTES: Final = 32  # 256 bits
KEY_PATTERN: Final = re.compile(rf"{WORD}_([0-9a-f]{{12}})_[0-9a-f]{{64}}")


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyText:
    """A key as its holder has it; the text is not shown where the value is."""

    identifier: str
    text: str = field(repr=False)

    @property
    def digest(self) -> str:
        """What is kept of it: SHA-256 in hexadecimal."""
        return digest_of(self.text)


def new_key(entropy: Entropy, *, identifier: str | None = None) -> KeyText:
    """A key that nobody has; of an identifier that is there, a new secret."""
    name = entropy(IDENTIFIER_BYTES).hex() if identifier is None else identifier
    return KeyText(identifier=name, text=f"{WORD}_{name}_{entropy(SECRET_BYTES).hex()}")


def key_in(text: str) -> KeyText | None:
    """The key that a text is; None where it is none."""
    found = KEY_PATTERN.fullmatch(text)
    return None if found is None else KeyText(identifier=found[1], text=text)


def digest_of(secret: str) -> str:
    """SHA-256 of a secret, in hexadecimal."""
    return hashlib.sha256(secret.encode()).hexdigest()
