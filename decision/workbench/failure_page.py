"""The page of failures, written from the data of every profile.

What follows from a failure is worked out by the same engine that a decision uses, with the gear up
and everything else sound; a test holds the page to the data.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from decision.profile import Profile, load_profile, profile_ids
from decision.profile.systems_effects import LIMITS, LandBy, Lose, Urgency
from decision.profile.systems_model import CatalogueEntry, NodeKind
from decision.quantities import GearPosition, SlatPosition
from decision.systems import Capability, Failure, assess

HEAD = """# Failures

Every failure that can be reported, for each aircraft that is loaded, as its data have it.

*What it does* is what the failure does by itself, then what falls with it through the systems.
*For good* is a step that is still open with the gear up and can never be taken back. *Land*: when
the trade expects a landing. The aircraft are invented: sources marked ASSUMED are this project's
own choice, PRACTICE is common practice without a source. What a real aircraft loses is in the
operator's approved manuals.
"""
LAND = {
    Urgency.NONE: "",
    Urgency.NEAREST_SUITABLE: "nearest suitable",
    Urgency.AS_SOON_AS_POSSIBLE: "as soon as possible",
}


def page() -> str:
    """The whole page as Markdown."""
    lines = [line for each in profile_ids() for line in _profile(load_profile(each))]
    return "\n".join([HEAD, *lines]) + "\n"


def _profile(profile: Profile) -> Iterator[str]:
    entries = sorted(profile.systems.catalogue.values(), key=lambda entry: (entry.group, entry.id))
    yield f"## {profile.id}: {profile.title}"
    yield ""
    yield f"{len(entries)} failures over {len(profile.systems.nodes)} parts and functions."
    for group, members in groupby(entries, key=lambda entry: entry.group):
        yield ""
        yield f"### {group.replace('_', ' ').capitalize()}"
        yield ""
        yield "| failure | ATA | what it does | for good | land | source |"
        yield "| --- | --- | --- | --- | --- | --- |"
        yield from (_row(profile, entry) for entry in members)
    yield ""


def _row(profile: Profile, entry: CatalogueEntry) -> str:
    report = _report(profile, entry)
    left = assess(profile, [report], gear=_gear(entry), flap=_flap(profile), slats=report.position)
    cells = (
        f"`{entry.id}`: {entry.title}",
        entry.ata,
        "; ".join(dict.fromkeys(text.rstrip(".") for text in _does(profile, entry, left))),
        "; ".join(change.step for change in left.irreversible),
        LAND[left.urgency],
        entry.source,
    )
    return f"| {' | '.join(cells)} |"


def _does(profile: Profile, entry: CatalogueEntry, left: Capability) -> Iterator[str]:
    nodes = profile.systems.nodes
    own = [nodes[node].title for node in entry.loses]
    fallen = [each for each in left.lost if each.kind is NodeKind.FUNCTION]
    gone = dict.fromkeys([*own, *(each.title for each in fallen if not each.degraded)])
    yield from _listed("lost", gone)
    yield from _listed("degraded", (each.title for each in fallen if each.degraded))
    for effect in entry.effects:
        if not isinstance(effect, Lose | LandBy):  # told above, and in a column of its own
            yield effect.words
    for limit in left.limits:
        spec = LIMITS[limit.name]
        yield f"{spec.words} {limit.value:g} {spec.unit}".rstrip()


def _listed(word: str, titles: Iterable[str]) -> Iterator[str]:
    """The titles after the word, small letters first but for abbreviations; nothing for none."""
    names = ", ".join(
        each if each[1:2].isupper() else each[:1].lower() + each[1:] for each in titles
    )
    if names:
        yield f"{word}: {names}"


def _report(profile: Profile, entry: CatalogueEntry) -> Failure:
    """A complete report: at the present detent and position where it has to name one."""
    return Failure(
        id=entry.id,
        detent=_flap(profile) if entry.needs_detent else None,
        position=SlatPosition.IN if entry.needs_position else None,
    )


def _gear(entry: CatalogueEntry) -> GearPosition:
    return GearPosition.UP if GearPosition.UP in entry.gear else entry.gear[0]


def _flap(profile: Profile) -> str:
    return profile.detents[0].id
