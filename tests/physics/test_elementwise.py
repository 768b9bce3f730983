"""A table read at one place is the very number that NumPy reads there."""

from __future__ import annotations

import random

import numpy as np
import pytest

from decision.elementwise import interpolated


def drawn_table(seed: int) -> tuple[list[float], list[float]]:
    draw = random.Random(seed)  # noqa: S311 - a table, not a secret
    xs = sorted({draw.uniform(-500.0, 45_000.0) for _ in range(draw.randint(1, 9))})
    return xs, [draw.uniform(-80.0, 3_000.0) for _ in xs]


@pytest.mark.parametrize("seed", range(50))
def test_it_is_the_number_of_numpy_between_at_and_beyond_the_entries(seed: int) -> None:
    xs, ys = drawn_table(seed)
    draw = random.Random(seed + 1_000)  # noqa: S311
    places = [*xs, xs[0] - 1.0, xs[-1] + 1.0, *(draw.uniform(xs[0], xs[-1]) for _ in range(200))]
    found = [interpolated(x, xs, ys) for x in places]
    assert found == np.interp(places, xs, ys).tolist()
    assert found == [float(np.interp(x, xs, ys)) for x in places]
