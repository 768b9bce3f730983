"""What the rows of a season come to: shares of flights, by failure, by place, by fuel on board."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from decision.decide.decision import Verdict
from decision.sweep import SweepRow
from decision.sweep.told import NoneLeft

NOTHING: Final = "nothing"
AS_FUELLED: Final = 0.0


@dataclass(slots=True, kw_only=True)
class Share:
    """Some flights: how each was decided, and what was left of it."""

    verdicts: Counter[Verdict] = field(default_factory=Counter)
    none_left: Counter[NoneLeft] = field(default_factory=Counter)
    no_way_out: int = 0
    only_places: Counter[str] = field(default_factory=Counter)

    @property
    def go(self) -> int:
        """Those with a go, with caution or without."""
        return self.verdicts[Verdict.GO] + self.verdicts[Verdict.GO_WITH_CAUTION]

    @property
    def flights(self) -> int:
        """How many."""
        return self.verdicts.total()

    @property
    def with_way_out(self) -> int:
        """Those with a way out after a missed approach."""
        return self.flights - self.no_way_out

    def of(self, count: int) -> float:
        """A count as a share of them; of no flights none. From 0 to 1."""
        return count / self.flights if self.flights else 0.0

    def take(self, row: SweepRow) -> None:
        """Count a row that was decided."""
        if row.row is None:
            return
        self.verdicts[row.row.verdict] += 1
        if row.none_left is not None:
            self.none_left[row.none_left] += 1
        self.no_way_out += row.row.ways_out == 0
        if row.only_place is not None:
            self.only_places[row.only_place] += 1


@dataclass(slots=True, kw_only=True)
class Season:
    """Every share that is told: by failure and fuel, by place, by failure and place."""

    by_failure: dict[tuple[str, float], Share] = field(default_factory=lambda: defaultdict(Share))
    by_place: dict[tuple[str, str], Share] = field(default_factory=lambda: defaultdict(Share))
    turned: Counter[tuple[str, str]] = field(default_factory=Counter)

    @property
    def failures(self) -> list[str]:
        """Nothing first, then those first that leave the fewest flights a way out after a miss."""
        named = {name for name, _ in self.by_failure} - {NOTHING}
        return [NOTHING, *sorted(named, key=lambda each: (-self._without(each), each))]

    @property
    def fuels_kg(self) -> list[float]:
        """More on board than planned, the least first."""
        return sorted({fuel for _, fuel in self.by_failure})

    def _without(self, failure: str) -> int:
        return self.by_failure[failure, AS_FUELLED].no_way_out


def tallied(rows: Iterable[SweepRow], destinations: Sequence[str]) -> Season:
    """All rows of a season; `destinations`: of each flight, by its number.

    Rows of a flight come together, that without a failure first: what a failure turns is told
    against it.
    """
    season, before = Season(), dict[tuple[int, float], Verdict]()
    for row in rows:
        failure = row.named or NOTHING
        fuel_kg = AS_FUELLED if row.shift is None else row.shift.fuel_kg
        place = destinations[row.flight]
        season.by_failure[failure, fuel_kg].take(row)
        if row.row is None:
            continue
        if failure == NOTHING:
            before[row.flight, fuel_kg] = row.row.verdict
        if fuel_kg == AS_FUELLED:
            season.by_place[failure, place].take(row)
            if row.row.verdict is not before.get((row.flight, fuel_kg), row.row.verdict):
                season.turned[failure, place] += 1
    return season


def enough_kg(season: Season, failure: str, *, share: float) -> float | None:
    """The least fuel more with which a failure leaves a way out after a missed approach to so many
    of the flights that have one without it and with the most fuel; None: with nothing that was
    tried. `share`: from 0 to 1.
    """
    most = season.by_failure[NOTHING, season.fuels_kg[-1]].with_way_out
    return next(
        (
            fuel_kg
            for fuel_kg in season.fuels_kg
            if season.by_failure[failure, fuel_kg].with_way_out >= share * most
        ),
        None,
    )
