"""Propagation of lost nodes through the systems graph, with the shortest path to each.

A node is lost, degraded or working. Its need is worth the state of its k-th best input; a backup
can lift a lost node to degraded, never to working. All of that is minima and maxima, so more
failures never make a node better, and since the graph has no cycle one pass over the nodes, inputs
first, is the fixed point.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import IntEnum
from typing import Final, NamedTuple

from decision.profile.systems_model import Node, SupplyNeed

_NOTHING: Final[frozenset[str]] = frozenset()


class NodeState(IntEnum):
    """State of a node, from bad to good."""

    LOST = 0
    DEGRADED = 1
    WORKING = 2


class Fallen(NamedTuple):
    """A node that does not fully work.

    `path` is the shortest from a failure, that failure first, and of equals the first in
    alphabetical order. `causes` are failures that together suffice for this state.
    """

    state: NodeState
    path: tuple[str, ...]
    causes: frozenset[str]


def propagate(nodes: Mapping[str, Node], failed: Mapping[str, str]) -> dict[str, Fallen]:
    """Every node that is lost or degraded when the nodes in `failed` are lost.

    `nodes` has inputs first; `failed` maps a node to the failure that takes it away.
    """
    fallen: dict[str, Fallen] = {}
    for id_, node in nodes.items():
        failure = failed.get(id_)
        if failure is not None:
            path = (failure,) if failure == id_ else (failure, id_)
            fallen[id_] = Fallen(NodeState.LOST, path, frozenset((failure,)))
        elif node.need and not fallen.keys().isdisjoint(node.inputs):
            state = _state(node.need, node.backup, fallen)
            if state is not NodeState.WORKING:
                fallen[id_] = _fall(node, state, fallen)
    return fallen


def _state(need: SupplyNeed, backup: SupplyNeed | None, fallen: Mapping[str, Fallen]) -> NodeState:
    own = _worth(need, fallen)
    if own is NodeState.LOST and backup:
        return min(_worth(backup, fallen), NodeState.DEGRADED)
    return own


def _worth(need: SupplyNeed, fallen: Mapping[str, Fallen]) -> NodeState:
    """State of the k-th best input, which is the one after the n - k worst."""
    states = [fallen[id_].state for id_ in need.of if id_ in fallen]
    if len(states) <= need.spare:
        return NodeState.WORKING
    states.sort()
    return states[need.spare]


def _fall(node: Node, state: NodeState, fallen: Mapping[str, Fallen]) -> Fallen:
    """Blame the inputs that keep the node from a better state than this."""
    blamed = _blamed(node.need, state, fallen)
    if state is NodeState.LOST:
        blamed += _blamed(node.backup, state, fallen)
    if len(blamed) == 1:
        (only,) = blamed
        return Fallen(state, (*only.path, node.id), only.causes)
    path = min((fall.path for fall in blamed), key=_nearness)
    return Fallen(state, (*path, node.id), _NOTHING.union(*(fall.causes for fall in blamed)))


def _blamed(
    need: SupplyNeed | None, state: NodeState, fallen: Mapping[str, Fallen]
) -> list[Fallen]:
    """The n - k + 1 inputs, nearest first, whose state leaves fewer than k better ones."""
    if need is None:
        return []
    bad = [fallen[id_] for id_ in need.of if id_ in fallen and fallen[id_].state <= state]
    if len(bad) > 1:
        bad.sort(key=lambda fall: _nearness(fall.path))
    return bad[: need.spare + 1]


def _nearness(path: tuple[str, ...]) -> tuple[int, tuple[str, ...]]:
    return len(path), path


def seeds(lost: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Which failure takes which node, from (node, failure) pairs; of several the first by id."""
    return dict(sorted(lost, reverse=True))
