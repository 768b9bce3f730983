"""Words that rules and profiles give, made into what the crew reads."""

from __future__ import annotations


def sentence(words: str) -> str:
    """With a capital at its start and one full stop at its end."""
    return words[:1].upper() + words[1:].rstrip(".") + "."
