"""A fixed piece of work, beside which everything is timed, so that figures of machines compare.

It is half plain Python and half arrays of the size that a search for a level and a speed has, as a
decision is. Nothing of the product is in it: whoever makes the product faster must not make this
faster as well, and so it is never changed.
"""

from __future__ import annotations

from typing import Final

import numpy as np

STEPS: Final = 4_000  # about as long as the arrays take
ROUNDS: Final = 60
GRID: Final = np.linspace(1.0, 2.0, 40 * 16).reshape(40, 16)


def fixed_work() -> float:
    """About a millisecond on a processor of 2024."""
    total, held = 0.0, dict.fromkeys(range(97), 0.0)
    for i in range(STEPS):
        held[i % 97] = total
        total += (i * 0.37) % 1.3 + held[i % 89] * 1e-9
    for turn in range(ROUNDS):
        grid = np.minimum(GRID * (1.0 + turn / ROUNDS), 1.9)
        total += float(np.cumsum(grid, axis=0)[-1].min())
    return total
