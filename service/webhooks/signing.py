"""Signatures of what is sent: HTTP Message Signatures (RFC 9421) over a Content-Digest (RFC 9530).

HMAC-SHA-256 with a secret that the receiver has. Method, target, type and digest of the body are
signed, with the moment at which it was done, so that what is kept cannot be sent again for long.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

SECRET_BYTES: Final = 32  # 256 bits
JSON: Final = "application/json"
POST: Final = "POST"
TAG: Final = "approach-event"
"""What the signature is of, so that a receiver can tell it from others (RFC 9421, section 2.3)."""
COVERED: Final = ("@method", "@target-uri", "content-type", "content-digest")


@dataclass(frozen=True, slots=True, kw_only=True)
class SigningKey:
    """A secret and the name that a receiver knows it by; the name has no quotes in it."""

    key_id: str
    secret: bytes

    def __repr__(self) -> str:
        return f"SigningKey(key_id={self.key_id!r})"


def content_digest(body: bytes) -> str:
    """The value of Content-Digest (RFC 9530, section 2)."""
    return f"sha-256=:{_base64(hashlib.sha256(body).digest())}:"


def signature_params(names: Sequence[str], *, created_s: int, key_id: str) -> str:
    """The parameters of a signature (RFC 9421, section 2.3)."""
    covered = " ".join(f'"{name}"' for name in names)
    return f'({covered});created={created_s};keyid="{key_id}";alg="hmac-sha256";tag="{TAG}"'


def signature_base(components: Mapping[str, str], params: str) -> bytes:
    """What is signed (RFC 9421, section 2.5)."""
    lines = [f'"{name}": {value}' for name, value in components.items()]
    return "\n".join([*lines, f'"@signature-params": {params}']).encode("ascii")


def signature(secret: bytes, base: bytes) -> str:
    """The signature of it (RFC 9421, section 3.3.3), as a byte sequence of a structured field."""
    return f":{_base64(hmac.digest(secret, base, 'sha256'))}:"


def signed_headers(
    *, url: str, body: bytes, keys: Sequence[SigningKey], created_s: int
) -> dict[str, str]:
    """The headers of a POST of JSON, with a signature for each key: `sig1`, `sig2`."""
    digest = content_digest(body)
    values = (POST, url, JSON, digest)
    components = dict(zip(COVERED, values, strict=True))
    inputs, signatures = [], []
    for number, key in enumerate(keys, 1):
        params = signature_params(COVERED, created_s=created_s, key_id=key.key_id)
        inputs.append(f"sig{number}={params}")
        signatures.append(
            f"sig{number}={signature(key.secret, signature_base(components, params))}"
        )
    return {
        "Content-Type": JSON,
        "Content-Digest": digest,
        "Signature-Input": ", ".join(inputs),
        "Signature": ", ".join(signatures),
    }


def _base64(content: bytes) -> str:
    return base64.b64encode(content).decode("ascii")
