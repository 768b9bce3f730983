"""How long what opened or signed before does so beside what comes after it: an argument."""

from __future__ import annotations

import argparse
from typing import Final

OVERLAP_H: Final = 24.0  # [ASSUMED] as long as it takes to change a key or a secret everywhere
LONGEST_H: Final = 8_784.0  # a year


def hours_of_overlap(text: str) -> float:
    """Hours that an argument gives. Raises: ArgumentTypeError."""
    try:
        hours = float(text)
    except ValueError:
        hours = -1.0
    if not 0 <= hours <= LONGEST_H:
        raise argparse.ArgumentTypeError(f"a number from 0 to {LONGEST_H:g}")
    return hours
