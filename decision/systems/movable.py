"""What can still be done with gear, flaps and slats, and which of it cannot be undone.

The three are read alike: where the thing stands, where it can still go, and which step, still
open, could not be taken back. A state that nobody can confirm counts as the worse one for drag.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, TypeVar, assert_never

from decision.profile import Profile
from decision.profile.systems_effects import (
    Drive,
    Effect,
    Extension,
    FlapDrive,
    FlapsExtendOnly,
    FlapsJammed,
    FlapsLimited,
    GearDoorsHanging,
    GearDoorsStayOpen,
    GearExtension,
    GearNotRetractable,
    GearUnconfirmed,
    OneWay,
    SlatDrive,
    SlatsExtendOnly,
    SlatsJammed,
)
from decision.quantities import DoorPosition, GearPosition, SlatPosition
from decision.systems.capability import (
    FlapCapability,
    GearCapability,
    IrreversibleChange,
    SlatCapability,
)
from decision.systems.found import Found, Path, nearest

EXTENSIONS: Final = tuple(Extension)
DRIVES: Final = tuple(Drive)
EXTENSION_STEPS: Final = {
    Extension.NORMAL: "extend the gear",
    Extension.ALTERNATE: "extend the gear by the alternate system",
}
Word = TypeVar("Word", Extension, Drive)


def gear_capability(found: Found, *, reported: GearPosition) -> GearCapability:
    """The gear, from where it is reported.

    The alternate system brings the gear down for good, so a gear that has only that left is not
    retractable; neither is one that is not confirmed locked [PRACTICE].
    """
    position = GearPosition.UNSAFE if found.has(GearUnconfirmed) else reported
    extension = _worst(EXTENSIONS, [i.effect.extension for i in found.of(GearExtension)])
    stuck = found.has(GearNotRetractable) or extension is not Extension.NORMAL
    stay_open = found.has(GearDoorsStayOpen) or extension is Extension.ALTERNATE
    return GearCapability(
        position=position,
        extension=extension,
        retractable=not stuck and position is not GearPosition.UNSAFE,
        doors_after_extension=_doors(open_=stay_open),
        doors_now=_doors(open_=_doors_open_now(found, position, extension)),
        because=nearest(
            found.of(GearExtension),
            found.of(GearNotRetractable),
            found.of(GearUnconfirmed),
            found.of(GearDoorsHanging),
        ),
    )


def _doors(*, open_: bool) -> DoorPosition:
    return DoorPosition.OPEN if open_ else DoorPosition.CLOSED


def _doors_open_now(found: Found, position: GearPosition, extension: Extension) -> bool:
    """With the gear down nobody knows which system put it there: then the worse is taken."""
    match position:
        case GearPosition.UP:
            return found.has(GearDoorsHanging)
        case GearPosition.DOWN:
            return extension is not Extension.NORMAL or found.has(GearDoorsHanging)
        case GearPosition.IN_TRANSIT | GearPosition.UNSAFE:
            return True
        case _:
            assert_never(position)


def flap_capability(found: Found, profile: Profile, *, reported: str) -> FlapCapability:
    """The flaps, from the reported detent; a jam says where they are, whatever the lever says."""
    jams = found.of(FlapsJammed)
    position = next(_detents(found, FlapsJammed), reported)
    drive = _worst(DRIVES, [i.effect.drive for i in found.of(FlapDrive)])
    return FlapCapability(
        position=position,
        reachable=(position,)
        if jams or drive is Drive.NONE
        else _reachable(found, profile, position),
        drive=Drive.NONE if jams else drive,
        jammed=bool(jams),
        extend_only=found.has(FlapsExtendOnly),
        because=nearest(jams)
        or nearest(found.of(FlapDrive), found.of(FlapsExtendOnly), found.of(FlapsLimited)),
    )


def _reachable(found: Found, profile: Profile, position: str) -> tuple[str, ...]:
    """Detents of a flap that moves, in order; the present one is always among them."""
    ids = [detent.id for detent in profile.detents]
    lowest = ids.index(position) if found.has(FlapsExtendOnly) else 0
    highest = min((ids.index(id_) for id_ in _detents(found, FlapsLimited)), default=len(ids) - 1)
    return tuple(id_ for i, id_ in enumerate(ids) if lowest <= i <= highest or id_ == position)


def _detents(found: Found, kind: type[Effect]) -> Iterator[str]:
    """Detents that the reports name; `check_failures` has seen to it that each names one."""
    return (report.detent for report in found.reports(kind) if report.detent is not None)


def slat_capability(
    found: Found, profile: Profile, *, reported: SlatPosition | None, flap: str
) -> SlatCapability:
    """The slats, from the reported position, else from where the flap lever takes them."""
    with_lever = SlatPosition.OUT if profile.slats_out_with_lever(flap) else SlatPosition.IN
    jams = found.of(SlatsJammed)
    jammed_at = next((report.position for report in found.reports(SlatsJammed)), None)
    drive = Drive.NONE if jams else _worst(DRIVES, [i.effect.drive for i in found.of(SlatDrive)])
    return SlatCapability(
        position=jammed_at or reported or with_lever,
        movable=drive is not Drive.NONE,
        extend_only=found.has(SlatsExtendOnly),
        drive=drive,
        because=nearest(jams) or nearest(found.of(SlatDrive), found.of(SlatsExtendOnly)),
    )


def irreversible_changes(
    found: Found, gear: GearCapability, flap: FlapCapability, slats: SlatCapability
) -> tuple[IrreversibleChange, ...]:
    """Every step that is still open and could not be taken back."""
    other = {
        (i.effect.what, i.effect.step): i.because
        for i in sorted(found.of(OneWay), key=lambda i: (-len(i.because), i.because))
    }
    return (
        *_gear_changes(gear),
        *_wing_changes(found, flap, slats),
        *(_change(what, step, path) for (what, step), path in sorted(other.items())),
    )


def _gear_changes(gear: GearCapability) -> Iterator[IrreversibleChange]:
    step = EXTENSION_STEPS.get(gear.extension)
    if step and gear.position is GearPosition.UP and not gear.retractable:
        yield _change("gear", step, gear.because)


def _wing_changes(
    found: Found, flap: FlapCapability, slats: SlatCapability
) -> Iterator[IrreversibleChange]:
    if flap.extend_only and len(flap.reachable) > 1:
        yield _change("flaps", "extend the flaps", nearest(found.of(FlapsExtendOnly)))
    if slats.extend_only and slats.movable and slats.position is SlatPosition.IN:
        yield _change("slats", "extend the slats", nearest(found.of(SlatsExtendOnly)))


def _change(what: str, step: str, because: Path) -> IrreversibleChange:
    return IrreversibleChange(what=what, step=step, because=because)


def _worst(order: tuple[Word, ...], words: list[Word]) -> Word:
    return order[max((order.index(word) for word in words), default=0)]
