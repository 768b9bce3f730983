"""The address of the source: a template whose host is fixed and whose holes take only codes."""

from __future__ import annotations

import ipaddress
import re
import string
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import unquote_plus, urlsplit

STATIONS: Final = "stations"
KIND: Final = "kind"
STATION: Final = re.compile(r"[A-Z][A-Z0-9]{3}")
HIDDEN: Final = "***"
DELIMITERS: Final = re.compile(r"[/?&=#{}]")
SHORTEST_SECRET: Final = 6  # a shorter part of an address is a word, not a key


@dataclass(frozen=True, slots=True, repr=False)
class Template:
    """A checked address. Raises: ValueError, which never repeats the address, on building."""

    text: str

    def __post_init__(self) -> None:
        problems = tuple(_problems(self.text))
        if problems:
            raise ValueError(problems[0])

    def __repr__(self) -> str:
        return f"Template(host={self.host!r})"

    @property
    def host(self) -> str:
        """The host that every call goes to, in lower case."""
        return urlsplit(self.text).hostname or ""

    @property
    def by_kind(self) -> bool:
        """Whether observations and forecasts are asked for in separate calls."""
        return KIND in _holes(self.text)

    def address(self, *, stations: Sequence[str], kind: str) -> str:
        """The address for some stations. Raises: ValueError for what is no station."""
        if not stations or any(STATION.fullmatch(each) is None for each in stations):
            raise ValueError("not location indicators")
        return self.text.format(stations=",".join(stations), kind=kind)

    def without_secrets(self, text: str) -> str:
        """A text in which no part of the address after its host appears: it may be a key."""
        _, _, after_host = self.text.partition(urlsplit(self.text).netloc)
        parts = DELIMITERS.split(after_host)
        secrets = {form for part in parts for form in (part, unquote_plus(part))}
        for secret in sorted(secrets, key=len, reverse=True):
            if len(secret) >= SHORTEST_SECRET:
                text = text.replace(secret, HIDDEN)
        return text


def is_loopback(host: str) -> bool:
    """Whether a host is this machine, by its name alone."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _holes(text: str) -> list[str]:
    """What stands in braces. Raises: ValueError on braces that do not match."""
    return [name for _, name, _, _ in string.Formatter().parse(text) if name is not None]


def _problems(text: str) -> Iterable[str]:
    try:
        address, holes = urlsplit(text), _holes(text)
        _ = address.port  # read only when asked for
    except ValueError:
        yield "is not an address"
        return
    if not text.isascii() or any(each.isspace() or not each.isprintable() for each in text):
        yield "must be printable ASCII without spaces"
    if not address.hostname or set("{}@") & set(address.netloc):
        yield "must begin with https:// and a host, without user and placeholders"
    elif address.scheme not in ("https", "http" if is_loopback(address.hostname) else "https"):
        yield "must begin with https:// (http:// is for this machine only)"
    if (
        STATIONS not in holes
        or not set(holes) <= {STATIONS, KIND}
        or set("{}") & set(_filled(text))
    ):
        yield "must hold {stations}, may hold {kind}, and nothing else in braces"


def _filled(text: str) -> str:
    """The text without its plain holes; a brace that is left has a format or an attribute."""
    return text.replace(f"{{{STATIONS}}}", "").replace(f"{{{KIND}}}", "")
