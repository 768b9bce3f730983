"""Propagation against truth tables and an independent shortest-path library."""

from __future__ import annotations

from itertools import combinations

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from decision.profile.systems_model import Node, SupplyNeed
from decision.systems.graph import NodeState, propagate, seeds
from tests.systems.builders import XTJ, graphs, node

FAILURE = "failure"


def oracle_states(nodes: dict[str, Node], failed: set[str]) -> dict[str, NodeState]:
    """Start with everything working; apply the truth tables until nothing changes."""
    states = dict.fromkeys(nodes, NodeState.WORKING)
    changed = True
    while changed:
        changed = False
        for item in reversed(nodes.values()):  # any order will do
            state = oracle_state(item, states, failed)
            changed = changed or state is not states[item.id]
            states[item.id] = state
    return states


def oracle_state(item: Node, states: dict[str, NodeState], failed: set[str]) -> NodeState:
    if item.id in failed:
        return NodeState.LOST
    if item.need is None or some_set_of_k(item.need, states, NodeState.WORKING):
        return NodeState.WORKING
    if some_set_of_k(item.need, states, NodeState.DEGRADED):
        return NodeState.DEGRADED
    held_up = item.backup is not None and some_set_of_k(item.backup, states, NodeState.DEGRADED)
    return NodeState.DEGRADED if held_up else NodeState.LOST


def some_set_of_k(need: SupplyNeed, states: dict[str, NodeState], least: NodeState) -> bool:
    return any(
        all(states[id_] >= least for id_ in chosen) for chosen in combinations(need.of, need.k)
    )


def oracle_distances(
    nodes: dict[str, Node], states: dict[str, NodeState], failed: set[str]
) -> dict[str, int]:
    """Number of steps from a failure to each fallen node, along inputs that are to blame."""
    graph = nx.DiGraph()
    graph.add_node(FAILURE)
    graph.add_edges_from((FAILURE, id_) for id_ in failed)
    for item in nodes.values():
        if item.id in failed or states[item.id] is NodeState.WORKING or item.need is None:
            continue
        inputs = item.need.of if states[item.id] is NodeState.DEGRADED else item.inputs
        graph.add_edges_from((i, item.id) for i in inputs if states[i] <= states[item.id])
    lengths: dict[str, int] = nx.single_source_shortest_path_length(graph, FAILURE)
    return lengths


@st.composite
def graphs_with_failures(draw: st.DrawFn) -> tuple[dict[str, Node], set[str]]:
    nodes = draw(graphs())
    return nodes, draw(st.sets(st.sampled_from(sorted(nodes)), max_size=4))


@settings(max_examples=100)
@given(graphs_with_failures())
def test_states_agree_with_truth_tables(case: tuple[dict[str, Node], set[str]]) -> None:
    nodes, failed = case
    fallen = propagate(nodes, dict.fromkeys(failed, FAILURE))
    states = {id_: fallen[id_].state if id_ in fallen else NodeState.WORKING for id_ in nodes}
    assert states == oracle_states(nodes, failed)


@settings(max_examples=100)
@given(graphs_with_failures())
def test_paths_are_shortest_and_follow_the_graph(case: tuple[dict[str, Node], set[str]]) -> None:
    nodes, failed = case
    fallen = propagate(nodes, dict.fromkeys(failed, FAILURE))
    distances = oracle_distances(nodes, oracle_states(nodes, failed), failed)
    assert {id_: len(f.path) - 1 for id_, f in fallen.items()} == {
        id_: steps for id_, steps in distances.items() if id_ != FAILURE
    }
    for id_, fall in fallen.items():
        assert fall.path[0] == FAILURE
        assert fall.path[1] in failed
        assert fall.path[-1] == id_
        for before, after in zip(fall.path[1:], fall.path[2:], strict=False):
            assert before in nodes[after].inputs


@settings(max_examples=100)
@given(graphs_with_failures())
def test_causes_alone_suffice_for_the_state(case: tuple[dict[str, Node], set[str]]) -> None:
    nodes, failed = case
    fallen = propagate(nodes, {id_: f"failure-{id_}" for id_ in failed})
    for id_, fall in fallen.items():
        alone = {n for n in failed if f"failure-{n}" in fall.causes}
        assert oracle_states(nodes, alone)[id_] <= fall.state


@given(graphs_with_failures(), st.data())
def test_one_more_lost_node_never_helps(
    case: tuple[dict[str, Node], set[str]], data: st.DataObject
) -> None:
    nodes, failed = case
    extra = data.draw(st.sampled_from(sorted(nodes)))
    before = propagate(nodes, dict.fromkeys(failed, FAILURE))
    after = propagate(nodes, dict.fromkeys(failed | {extra}, FAILURE))
    for id_, fall in before.items():
        assert after[id_].state <= fall.state


def test_every_state_of_the_demo_aircraft_agrees_with_truth_tables() -> None:
    nodes = dict(XTJ.systems.nodes)
    assert len(nodes) > 1
    for pair in combinations(nodes, 2):
        fallen = propagate(nodes, dict.fromkeys(pair, FAILURE))
        states = oracle_states(nodes, set(pair))
        assert {i: f.state for i, f in fallen.items()} == {
            i: s for i, s in states.items() if s is not NodeState.WORKING
        }


def test_a_failure_named_like_its_node_stands_once_in_the_path() -> None:
    nodes = {
        "hyd": node("hyd"),
        "gear": node("gear", needs=SupplyNeed(k=1, of=("hyd",)), kind="function"),
    }
    fallen = propagate(nodes, {"hyd": "hyd"})
    assert fallen["gear"].path == ("hyd", "gear")


def test_of_two_failures_of_one_node_the_first_by_id_is_blamed() -> None:
    assert seeds([("engine-1", "b"), ("engine-1", "a")]) == {"engine-1": "a"}
    assert seeds([("engine-1", "a"), ("engine-1", "b")]) == {"engine-1": "a"}
