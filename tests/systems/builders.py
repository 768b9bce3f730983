"""Builders of this room: a report, a degraded aircraft, a random graph, a small systems file."""

from __future__ import annotations

from pathlib import Path

from hypothesis import strategies as st

from decision.profile import Profile, load_profile
from decision.profile.systems_data import read_systems
from decision.profile.systems_model import CatalogueEntry, Node, NodeKind, SupplyNeed, SystemsData
from decision.quantities import GearPosition, SlatPosition
from decision.systems import Capability, Failure, assess

XTJ: Profile = load_profile("xtj150")
CATALOGUE = tuple(XTJ.systems.catalogue.values())


def report(id_: str, *, detent: str = "12", position: SlatPosition = SlatPosition.OUT) -> Failure:
    """A complete report of a failure: detent or position only where it needs one."""
    entry: CatalogueEntry = XTJ.systems.catalogue[id_]
    return Failure(
        id=id_,
        detent=detent if entry.needs_detent else None,
        position=position if entry.needs_position else None,
    )


def degraded(
    *failures: str | Failure,
    gear: GearPosition = GearPosition.UP,
    flap: str = "0",
    slats: SlatPosition | None = None,
) -> Capability:
    """What is left of the demo aircraft, clean unless told otherwise."""
    reports = [report(f) if isinstance(f, str) else f for f in failures]
    return assess(XTJ, reports, gear=gear, flap=flap, slats=slats)


def node(
    id_: str,
    *,
    needs: SupplyNeed | None = None,
    backup: SupplyNeed | None = None,
    kind: str = "supply",
) -> Node:
    """A node without effects."""
    return Node(
        id=id_,
        kind=NodeKind(kind),
        title=id_.capitalize(),
        need=needs,
        backup=backup,
        when_lost=(),
        when_degraded=(),
        source="ASSUMED",
        note="",
    )


@st.composite
def graphs(draw: st.DrawFn, max_nodes: int = 9) -> dict[str, Node]:
    """Acyclic graphs with every form of need, with and without backups, inputs first."""
    count = draw(st.integers(min_value=1, max_value=max_nodes))
    ids = [f"n{i}" for i in range(count)]
    nodes: dict[str, Node] = {}
    for i, id_ in enumerate(ids):
        needs = draw(st.none() | _needs(ids[:i])) if i else None
        backup = draw(st.none() | _needs(ids[:i])) if needs else None
        nodes[id_] = node(id_, needs=needs, backup=backup)
    return nodes


@st.composite
def _needs(draw: st.DrawFn, ids: list[str]) -> SupplyNeed:
    of = draw(st.lists(st.sampled_from(ids), min_size=1, max_size=4, unique=True))
    return SupplyNeed(k=draw(st.integers(min_value=1, max_value=len(of))), of=tuple(of))


SMALL_FILE = """
[[node]]
id = "engine-1"
kind = "source"
title = "Engine 1"
when_lost = [{ kind = "engine-out" }]
source = "ASSUMED"

[[node]]
id = "pump"
kind = "source"
title = "Pump"
needs = { all_of = ["engine-1"] }
source = "ASSUMED"

[[node]]
id = "hand-pump"
kind = "source"
title = "Hand pump"
source = "ASSUMED"

[[node]]
id = "flaps"
kind = "function"
title = "Flaps"
needs = { k = 1, k_of = ["pump"] }
backup = { any_of = ["hand-pump"] }
when_degraded = [{ kind = "flap-drive", drive = "slow" }]
when_lost = [{ kind = "flap-drive", drive = "none", source = "PRACTICE" }]
source = "ASSUMED"
note = "small"

[[failure]]
id = "engine-1"
group = "engines"
ata = "72"
title = "Engine 1 shut down"
gear = ["up", "down"]
effects = [
  { kind = "lose", node = "engine-1" },
  { kind = "limit", name = "max_cas_kt", value = 250 },
  { kind = "caution", code = "ENGINE_OUT", text = "One engine.", weight = "info" },
]
source = "ASSUMED"
note = "small"
nature = "engine failure"
dispatch = "Rescue services."
cabin = "One engine."
"""


def small_systems(directory: Path, *, change: tuple[str, str] = ("", "")) -> SystemsData:
    """The small file with one change to its text, written and read."""
    before, after = change
    assert before in SMALL_FILE
    path = directory / "small.systems.toml"
    path.write_text(SMALL_FILE.replace(before, after, 1) if before else SMALL_FILE + after)
    return read_systems(path)
