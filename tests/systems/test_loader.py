# ruff: noqa: E501 - one fault a line reads best
"""Faults in a systems file: each names the file, the row and the problem."""

from __future__ import annotations

from pathlib import Path

import pytest

from decision.errors import DataError
from decision.profile.systems_data import load_systems, read_systems
from tests.systems.builders import XTJ, small_systems

NODE = '[[node]]\nid = "spare"\nkind = "source"\ntitle = "Spare"\nsource = "ASSUMED"\n'
FAILURE = (
    '[[failure]]\nid = "more"\ngroup = "engines"\nata = "72"\ntitle = "More"\n'
    'source = "ASSUMED"\nnature = "more"\ndispatch = "More."\ncabin = "More."\neffects = '
)
LOSE = '{ kind = "lose", node = "engine-1" }'
LIMIT = '{ kind = "limit", name = "max_cas_kt", value = 250 }'
HAND_PUMP = 'title = "Hand pump"\n'
PUMP_NEEDS = 'needs = { all_of = ["engine-1"] }'
HELD_UP = 'needs = { k = 1, k_of = ["pump"] }\nbackup = { any_of = ["hand-pump"] }'
FLAP_NEEDS = "needs = { k = 1, k_of = "


def test_the_demo_profile_carries_its_systems_cached() -> None:
    assert load_systems("xtj150") is load_systems("xtj150")
    assert XTJ.systems.catalogue.keys() == load_systems("xtj150").catalogue.keys()
    assert len(XTJ.systems.engines) == XTJ.engine.count


def test_a_sound_file_reads_as_written(tmp_path: Path) -> None:
    systems = small_systems(tmp_path)
    assert systems.engines == ("engine-1",)
    assert systems.reversers == 0
    assert systems.consumers("engine-1") == ("pump", "flaps")
    assert systems.consumers("flaps") == ()
    assert [e.source for e in systems.nodes["flaps"].when_lost] == ["PRACTICE"]
    assert systems.catalogue["engine-1"].gear == ("up", "down")
    assert systems.catalogue["engine-1"].note == systems.nodes["flaps"].note == "small"
    said = systems.catalogue["engine-1"]
    assert (said.nature, said.dispatch, said.cabin) == (
        "engine failure", "Rescue services.", "One engine.",
    )  # fmt: skip


def test_nodes_come_after_all_that_they_draw_on(tmp_path: Path) -> None:
    for systems in (small_systems(tmp_path), XTJ.systems):
        seen: set[str] = set()
        assert any(node.inputs for node in systems.nodes.values())
        for node in systems.nodes.values():
            assert seen.issuperset(node.inputs)
            seen.add(node.id)


@pytest.mark.parametrize(
    ("before", "after", "key", "problem"),
    [
        ("", NODE + "flavour = 1", "node.spare.flavour", "unknown key"),
        ("", NODE, "node.spare", "leads nowhere"),
        ("", NODE.replace("spare", "pump"), "node.pump", "appears twice"),
        ("", NODE.replace("spare", "Spare Part"), "node", "small-letters"),
        ("", NODE.replace('"spare"', "1"), "node", "id is 1"),
        ("", "[[extra]]\n", "file.extra", "unknown key"),
        ("", "[node]\n", "file", "Cannot"),
        ('kind = "source"', 'kind = "sauce"', "node.engine-1.kind", "one of source, supply"),
        ('kind = "source"\n', "", "node.engine-1.kind", "is None"),
        ('title = "Engine 1"', "title = 1", "node.engine-1.title", "must be text"),
        (HAND_PUMP, 'title = " "\n', "node.hand-pump.title", "must be text"),
        ('source = "ASSUMED"', 'source = "HEARSAY"', "node.engine-1.source", "bibliography"),
        (PUMP_NEEDS, 'needs = { all_of = ["engine-9"] }', "node.pump", "unknown node 'engine-9'"),
        (PUMP_NEEDS, 'needs = { all_of = ["flaps"] }', "node.", "cycle: "),
        (PUMP_NEEDS, "needs = { all_of = [] }", "node.pump.needs.all_of", "list of words"),
        (PUMP_NEEDS, 'needs = { all_of = ["a", "a"] }', "node.pump.needs.all_of", "repeats"),
        (PUMP_NEEDS, 'needs = ["engine-1"]', "node.pump.needs", "{all_of}, {any_of}"),
        (PUMP_NEEDS, 'needs = { k_of = ["engine-1"] }', "node.pump.needs", "{all_of}, {any_of}"),
        (FLAP_NEEDS, "needs = { k = 2, k_of = ", "node.flaps.needs.k", "accepted 1 to 1"),
        (FLAP_NEEDS, "needs = { k = 0, k_of = ", "node.flaps.needs.k", "accepted 1 to 1"),
        (FLAP_NEEDS, "needs = { k = 1.5, k_of = ", "node.flaps.needs.k", "whole number"),
        ('drive = "slow"', 'drive = "lazy"', "node.flaps.when_degraded[0].drive", "one of normal"),
        ('drive = "slow"', 'speed = "slow"', "node.flaps.when_degraded[0].speed", "unknown key"),
        ("[{ kind = \"flap-drive\", drive = \"slow\" }]", '"slow"', "node.flaps.when_degraded", "list"),
        ('kind = "flap-drive", drive = "slow"', 'kind = "lose", node = "pump"', "node.flaps", "belongs to a failure"),
        ('kind = "engine-out"', 'kind = "engine-in"', "node.engine-1.when_lost[0].kind", "one of lose"),
        (HELD_UP, 'needs = { all_of = ["pump", "hand-pump"] }', "node.flaps.when_degraded", "can never happen"),
        (HAND_PUMP, HAND_PUMP + 'backup = { all_of = ["pump"] }\n', "node.hand-pump.backup", "backs up nothing"),
        ('source = "PRACTICE"', 'source = ""', "node.flaps.when_lost[0].source", "must be text"),
        ('ata = "72"', 'ata = "7"', "failure.engine-1.ata", "two-digit"),
        ('group = "engines"', 'group = "wings"', "failure.engine-1.group", "one of hydraulics"),
        ('gear = ["up", "down"]', "gear = []", "failure.engine-1.gear", "list of words"),
        ('gear = ["up", "down"]', 'gear = ["lost"]', "failure.engine-1.gear", "one of up"),
        ('gear = ["up", "down"]', "wheels = 4", "failure.engine-1.wheels", "unknown key"),
        ('nature = "engine failure"\n', "", "failure.engine-1.nature", "is None; must be text"),
        ('"engine failure"', '" "', "failure.engine-1.nature", "must be text"),
        ('"engine failure"', '"Engine failure."', "failure.engine-1.nature", "must have no full stop"),
        ('dispatch = "Rescue services."\n', "", "failure.engine-1.dispatch", "is None; must be text"),
        ('"Rescue services."', '""', "failure.engine-1.dispatch", "must be text"),
        ('"Rescue services."', '"rescue"', "failure.engine-1.dispatch", "must end in a full stop"),
        ('cabin = "One engine."\n', "", "failure.engine-1.cabin", "is None; must be text"),
        ('cabin = "One engine."', "cabin = 1", "failure.engine-1.cabin", "must be text"),
        ('cabin = "One engine."', 'cabin = "one engine"', "failure.engine-1.cabin", "must end in a full stop"),
        ("value = 250", "value = 2500", "failure.engine-1.effects[1]", "valid from 150 to 400"),
        ("value = 250", 'value = "250"', "failure.engine-1.effects[1].value", "must be a number"),
        ("value = 250", "value = true", "failure.engine-1.effects[1].value", "must be a number"),
        ("value = 250", "value = nan", "failure.engine-1.effects[1].value", "must be a number"),
        (", value = 250", "", "failure.engine-1.effects[1].value", "is None"),
        ('"max_cas_kt"', '"max_fun"', "failure.engine-1.effects[1].name", "one of max_pressure"),
        ('"ENGINE_OUT"', '"engine out"', "failure.engine-1.effects[2]", "capitals"),
        (LOSE, '{ kind = "lose", node = "wing" }', "failure.engine-1.effects", "unknown node 'wing'"),
        (LOSE + ",", "", "node.flaps", "unreachable"),
        (LOSE, LOSE + ', { kind = "reverser" }', "failure.engine-1", "belongs to a node"),
        (LOSE, LOSE + ', { kind = "thrust", engine = "engine-3", ratio = 0.5 }', "failure.engine-1.effects", "unknown engine"),
        (LOSE, LOSE + ', { kind = "thrust", engine = "engine-1", ratio = 1.5 }', "failure.engine-1.effects[1]", "valid from 0 to 1"),
        (LOSE, LOSE + ', { kind = "drag", increment = -0.1 }', "failure.engine-1.effects[1]", "valid from 0 to 0.1"),
        (LOSE, LOSE + ', { kind = "fuel-flow", share = 2 }', "failure.engine-1.effects[1]", "valid from 0 to 1"),
        (LOSE, LOSE + ', { kind = "checklist", minutes = 99 }', "failure.engine-1.effects[1]", "valid from 0 to 60"),
        ("", FAILURE + "[]", "failure.more.effects", "is empty"),
        ("", FAILURE + f"[{LIMIT}]\ncolour = 1", "failure.more.colour", "unknown key"),
        ("", FAILURE.replace('"more"', '"engine-1"') + f"[{LIMIT}]", "failure.engine-1", "twice"),
        ("", FAILURE.replace("effects = ", ""), "failure.more.effects", "list of tables"),
        (
            "", FAILURE + '[{ kind = "caution", code = "ENGINE_OUT", text = "Two.", weight = "info" }]',
            "failure.more", "already has another text",
        ),
        ('kind = "engine-out"', 'kind = "brakes", share = 1.2', "node.engine-1.when_lost[0]", "0 to 1"),
        ('kind = "engine-out"', 'kind = "spoilers", share = 1.2', "node.engine-1.when_lost[0]", "0 to 1"),
        (
            '[{ kind = "engine-out" }]',
            '[{ kind = "brakes", share = 0.7 }, { kind = "brakes", share = 0.7 }]',
            "node.*.brakes", "shares add to 1.4",
        ),
    ],
)  # fmt: skip
def test_a_fault_in_a_file_names_file_row_and_problem(
    tmp_path: Path, before: str, after: str, key: str, problem: str
) -> None:
    with pytest.raises(DataError) as caught:
        small_systems(tmp_path, change=(before, after))
    assert caught.value.file == "small.systems.toml"
    assert caught.value.key.startswith(key)
    assert problem in caught.value.problem


@pytest.mark.parametrize(
    ("content", "key"),
    [
        (b"[[node]", "file"),
        (b"\xff\xfe", "file"),
        (b"", "node"),
        (b"node = 1\n", "node"),
        (b"node = [1]\n", "node"),
    ],
)
def test_a_file_that_is_no_systems_file_is_refused(
    tmp_path: Path, content: bytes, key: str
) -> None:
    path = tmp_path / "broken.systems.toml"
    path.write_bytes(content)
    with pytest.raises(DataError) as caught:
        read_systems(path)
    assert (caught.value.file, caught.value.key) == (path.name, key)


def test_a_missing_file_is_refused_by_name() -> None:
    with pytest.raises(DataError, match=r"nowhere\.systems\.toml: file"):
        load_systems("nowhere")
