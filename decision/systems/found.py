"""The effects in force for a set of reported failures, each with the path that brought it.

Nothing is ordered by the report: failures are taken by id and nodes as the graph has them, so any
order of the same failures gives the same effects in the same order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Generic, TypeVar, cast

from decision.profile.systems_effects import Effect
from decision.profile.systems_model import SystemsData
from decision.systems.capability import Failure
from decision.systems.graph import Fallen, NodeState, propagate, seeds

E = TypeVar("E", bound=Effect)
E_co = TypeVar("E_co", bound=Effect, covariant=True)
Path = tuple[str, ...]
PATH_ARROW: Final = " > "


@dataclass(frozen=True, slots=True, kw_only=True)
class InForce(Generic[E_co]):
    """An effect, its path, and the report that it came with (None when a node brought it)."""

    effect: E_co
    because: Path
    report: Failure | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Fallen nodes and all effects in force, by kind."""

    fallen: Mapping[str, Fallen]
    effects: Mapping[type[Effect], tuple[InForce[Effect], ...]]

    def of(self, kind: type[E]) -> tuple[InForce[E], ...]:
        """Effects of exactly this kind."""
        return cast("tuple[InForce[E], ...]", self.effects.get(kind, ()))

    def reports(self, kind: type[Effect]) -> tuple[Failure, ...]:
        """The reports that came with effects of this kind, for what only a report can say."""
        return tuple(item.report for item in self.of(kind) if item.report is not None)

    def has(self, kind: type[Effect]) -> bool:
        """Whether any effect of this kind is in force."""
        return kind in self.effects


def find(systems: SystemsData, reports: Iterable[Failure]) -> Found:
    """Propagate the reported failures and gather what follows. Every id must be known."""
    ordered = sorted({report.id: report for report in reports}.values(), key=lambda r: r.id)
    lost = ((node, r.id) for r in ordered for node in systems.catalogue[r.id].loses)
    fallen = propagate(systems.nodes, seeds(lost))
    grouped: dict[type[Effect], list[InForce[Effect]]] = {}
    for item in _in_force(systems, ordered, fallen):
        grouped.setdefault(type(item.effect), []).append(item)
    return Found(fallen=fallen, effects={kind: tuple(items) for kind, items in grouped.items()})


def _in_force(
    systems: SystemsData, reports: Iterable[Failure], fallen: Mapping[str, Fallen]
) -> Iterator[InForce[Effect]]:
    for report in reports:
        for effect in systems.catalogue[report.id].effects:
            yield InForce(effect=effect, because=(report.id,), report=report)
    for id_, fall in fallen.items():
        node = systems.nodes[id_]
        effects = node.when_lost if fall.state is NodeState.LOST else node.when_degraded
        for effect in effects:
            yield InForce(effect=effect, because=fall.path, report=None)


def nearest(*groups: Iterable[InForce[Effect]]) -> Path:
    """The shortest path among effects, of equals the first in alphabetical order; () for none."""
    paths = (item.because for group in groups for item in group)
    return min(paths, key=lambda path: (len(path), path), default=())
