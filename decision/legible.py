r"""Text that others wrote, made safe to look at: what a terminal would obey is written out.

Control characters (C0, DEL, C1), those that turn the direction of writing and every other one
that formats or separates without being seen (categories Cc, Cf, Zl and Zp of the Unicode Standard)
become `\u001b` and the like, as JSON writes them. Newlines stay: who has a line of their own for
a text makes one line of it first.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from unicodedata import category

import msgspec

UNSEEN: Final = frozenset({"Cc", "Cf", "Zl", "Zp"})
NEWLINE: Final = "\n"
BACKSLASH, DEL = b"\\", b"\x7f"  # with one JSON begins an escape; the other it lets through
UNIT: Final = 4  # digits of a code unit of UTF-16, of which JSON writes one or two


def visible(text: str) -> str:
    """The text with every unseen character but newlines written out."""
    if text.isprintable():
        return text
    lines = text.split(NEWLINE)
    return NEWLINE.join(line if line.isprintable() else written_out(line) for line in lines)


def on_one_line(text: str) -> str:
    """The same with spaces for the ends of lines, so that it cannot begin a line of its own."""
    if text.isprintable():
        return text
    return visible(text.replace("\r\n", " ").replace(NEWLINE, " "))


def all_on_one_line(value: Mapping[str, Any]) -> Mapping[str, Any]:
    """Every text within an object of JSON on one line and visible, names of members too."""
    content = msgspec.json.encode(value, enc_hook=dict)
    plain = content.isascii() and BACKSLASH not in content and DEL not in content
    told: Mapping[str, Any] = value if plain else _within(value)  # looking costs a tenth of it
    return told


def _within(value: Any) -> Any:  # noqa: ANN401  # any JSON value
    match value:
        case str():
            return on_one_line(value)
        case Mapping():
            return {on_one_line(name): _within(item) for name, item in value.items()}
        case list() | tuple():
            return [_within(item) for item in value]
        case _:
            return value


def written_out(text: str) -> str:
    """The text with every unseen character written out, newlines too."""
    return "".join(_escaped(each) if category(each) in UNSEEN else each for each in text)


def _escaped(character: str) -> str:
    """A character as JSON writes it where it does not write it as it is."""
    units = character.encode("utf-16-be").hex()
    return "".join(f"\\u{units[at : at + UNIT]}" for at in range(0, len(units), UNIT))
