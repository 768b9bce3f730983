"""Propagation of lost nodes through the systems graph, with the shortest path to each.

A node is lost, degraded or working. Its need is worth the state of its k-th best input; a backup
can lift a lost node to degraded, never to working. All of that is minima and maxima, so more
failures never make a node better, and since the graph has no cycle one pass over the nodes, inputs
first, is the fixed point.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import IntEnum

from decision.profile.systems_model import Need, Node


class State(IntEnum):
    """State of a node, from bad to good."""

    LOST = 0
    DEGRADED = 1
    WORKING = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallen:
    """A node that does not fully work.

    `path` is the shortest from a failure, that failure first, and of equals the first in
    alphabetical order. `causes` are failures that together suffice for this state.
    """

    state: State
    path: tuple[str, ...]
    causes: frozenset[str]


def propagate(nodes: Mapping[str, Node], failed: Mapping[str, str]) -> dict[str, Fallen]:
    """Every node that is lost or degraded when the nodes in `failed` are lost.

    `nodes` has inputs first; `failed` maps a node to the failure that takes it away.
    """
    fallen: dict[str, Fallen] = {}
    for node in nodes.values():
        failure = failed.get(node.id)
        if failure is not None:
            path = (failure,) if failure == node.id else (failure, node.id)
            fallen[node.id] = Fallen(state=State.LOST, path=path, causes=frozenset((failure,)))
        elif not fallen.keys().isdisjoint(node.inputs):
            state = _state(node, fallen)
            if state is not State.WORKING:
                fallen[node.id] = _fall(node, state, fallen)
    return fallen


def _state(node: Node, fallen: Mapping[str, Fallen]) -> State:
    own = _worth(node.need, fallen)
    return max(own, min(_worth(node.backup, fallen), State.DEGRADED))


def _worth(need: Need | None, fallen: Mapping[str, Fallen]) -> State:
    """State of the k-th best input; a need that is not there holds nothing up."""
    if need is None:
        return State.LOST
    states = sorted((_state_of(id_, fallen) for id_ in need.of), reverse=True)
    return states[need.k - 1]


def _state_of(id_: str, fallen: Mapping[str, Fallen]) -> State:
    return fallen[id_].state if id_ in fallen else State.WORKING


def _fall(node: Node, state: State, fallen: Mapping[str, Fallen]) -> Fallen:
    """Blame the inputs that keep the node from a better state than this."""
    needs = [node.need] if state is State.DEGRADED else [node.need, node.backup]
    blamed = [_blamed(need, state, fallen) for need in needs if need]
    shortest = min((f.path for group in blamed for f in group), key=_shortest)
    return Fallen(
        state=state,
        path=(*shortest, node.id),
        causes=frozenset().union(*(f.causes for group in blamed for f in group)),
    )


def _blamed(need: Need, state: State, fallen: Mapping[str, Fallen]) -> list[Fallen]:
    """The n - k + 1 inputs, nearest first, whose state leaves fewer than k better ones."""
    bad = (fallen[id_] for id_ in need.of if id_ in fallen and fallen[id_].state <= state)
    return sorted(bad, key=lambda f: _shortest(f.path))[: len(need.of) - need.k + 1]


def _shortest(path: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
    return len(path), path


def seeds(lost: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Which failure takes which node, from (node, failure) pairs; of several the first by id."""
    return dict(sorted(lost, reverse=True))
