"""The case as it is now: patched, with new reports, and with the state carried on to the moment.

What the patch says counts from now. Of the rest of the state that was known for a moment (where the
aircraft is, how high, how heavy, with how much fuel) each value is carried along the way of the
stored action and listed in the case itself, with the moment for which it was last given. So the
case can be decided again by whoever has it, and gets the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from copy import deepcopy
from datetime import datetime
from typing import Any, Final

from decision.again.merge_patch import merged
from decision.again.pointers import is_given, put, value_at
from decision.again.state import State, figure, goal_of, made_good, state_after, way_flown
from decision.case import Case, Library, case_from_mapping
from decision.case.carried import OF_ALTERNATES
from decision.case.types import AGEING
from decision.decide.decision import Do
from decision.flight.situation import situation_of
from decision.windows import instant_text, minutes_between

Data = Mapping[str, Any]
Body = dict[str, Any]

NOT_NEWS: Final = ("carried", "include", "compare_rulebooks")  # they change no decision
FUEL, MASS, POSITION = "/fuel/on_board_kg", "/aircraft/mass_kg", "/aircraft/position"
PROPOSE: Final = "propose_alternates"
HEADING, TO_RUN, ALTERNATES = "/aircraft/heading_true_deg", "/destination/track_nm", "/alternates"


def case_anew(
    stored: Data,
    answer: Data,
    *,
    patch: Data,
    reports: Sequence[str],
    at: datetime,
    library: Library,
) -> Body:
    """The body of the stored case as it is at a moment, which may have faults like any other.

    `answer`: what was decided of it, whole; of an answer without steps nothing can be carried, and
    the state is told to be lost. A moment before the stored one is taken for that.
    Raises: InvalidCase if the stored case is none any more.
    """
    before = case_from_mapping(stored, library=library)
    body: Body = merged(deepcopy(stored), patch)
    weather = body.get("weather")
    if isinstance(weather, dict):
        weather.pop("fetched", None)
        _add(weather, reports)
    is_news = _said(body) != _said(stored)
    carried = stored.get("carried")
    now = at.replace(microsecond=0)  # as moments are published
    if now > before.as_of:
        body["as_of"] = instant_text(now)
        minutes = minutes_between(before.as_of, now)
        carried = _carried_on(body, answer, before, minutes, stored=stored, patch=patch)
    _weigh_anew(body, before, patch)
    body.pop("carried", None)
    if carried is not None:
        body |= _told(carried, patch, is_news=is_news)
    if PROPOSE in patch:
        _forget_proposals(body)
    return body


def _forget_proposals(body: Body) -> None:
    """Who asks for alternates again gets those of now; what was proposed before is forgotten."""
    proposed = body.pop("proposed", None) or {}
    taken = {each["icao"] for each in proposed.get("places", ()) if each["taken"]}
    legs = body.get("alternates") or []
    own = [each for each in legs if not (isinstance(each, dict) and each.get("icao") in taken)]
    carried = body.get("carried")
    if len(own) == len(legs):
        return
    body["alternates"] = own
    if carried is not None:  # what was taken stands after the caller's own
        kept = [each for each in carried["values"] if not _is_beyond(each["field"], len(own))]
        body["carried"] = {**carried, "values": kept}


def _is_beyond(pointer: str, count: int) -> bool:
    return pointer.startswith(OF_ALTERNATES) and int(pointer.split("/")[2]) >= count


def _add(weather: Body, reports: Iterable[str]) -> None:
    """Reports that are not there yet."""
    known = weather.get("reports")
    if isinstance(known, list):
        new = dict.fromkeys(each for each in reports if each not in known)
        weather["reports"] = [*known, *new]


def _said(body: Data) -> Data:
    """What a decision rests on, but for what is carried, and what was fetched and when."""
    said = {name: value for name, value in body.items() if name not in NOT_NEWS}
    weather = said.get("weather")
    if isinstance(weather, Mapping):
        said["weather"] = {name: each for name, each in weather.items() if name != "fetched"}
    return said


def _carried_on(
    body: Body, answer: Data, before: Case, minutes: float, *, stored: Data, patch: Data
) -> Body:
    """Move what the patch does not give; what was moved, along which way, since when."""
    situation = situation_of(before)
    moved, way = way_flown(answer, situation, minutes)
    elsewhere = _forget_other_way(body, before, patch)
    run = made_good(moved, situation, value_at(patch, TO_RUN)) if is_given(TO_RUN, patch) else None
    to = goal_of(answer, before) if run is None else before.destination
    state: State = {
        pointer: value
        for pointer, value in state_after(to, situation, run or moved, minutes).items()
        if not is_given(pointer, patch) and pointer not in elsewhere
    }
    if is_given(FUEL, patch):
        state.pop(MASS, None)  # it follows from the fuel
    if is_given(POSITION, patch):  # and so do miles that were not given
        state = {
            pointer: value
            for pointer, value in state.items()
            if not pointer.endswith("_nm") or value_at(stored, pointer) is not None
        }
    for pointer, value in state.items():
        put(body, pointer, value)
    if run is not None:  # where it is follows from the miles to run
        state = {each: value for each, value in state.items() if not _is_place(each)}
    if not is_given(HEADING, patch):
        put(body, HEADING, None)  # nobody knows it any more
    kept = stored.get("carried") or {}
    since = {each["field"]: each["given_at"] for each in kept.get("values", ())}
    made: Body = {
        "along": way,
        "values": [
            {"field": pointer, "given_at": since.get(pointer, stored["as_of"])}
            for pointer, value in state.items()
            if value is not None
        ],
        "lost": moved.lost or kept.get("lost"),
        "no_better_than": _no_better_than(answer),
    }
    return made


def _told(carried: Data, patch: Data, *, is_news: bool) -> Body:
    """What is carried, less what is given now; nothing where all of the state is given."""
    values = [each for each in carried["values"] if not is_given(each["field"], patch)]
    ages = [each for each in values if _ages(each["field"])]
    if not ages:
        return {}
    told = {name: value for name, value in carried.items() if value is not None}
    bound = _bound_after_news(carried, patch) if is_news else carried.get("no_better_than")
    told |= {"values": values, "no_better_than": bound}
    return {"carried": {name: value for name, value in told.items() if value is not None}}


def _bound_after_news(carried: Data, patch: Data) -> Body | None:
    """Who has left on a diversion does not leave later for what is heard on the way."""
    deadline_at = (carried.get("no_better_than") or {}).get("deadline_at")
    left = carried["along"].startswith(Do.DIVERT) and deadline_at is not None
    if not left or is_given(POSITION, patch) or is_given(TO_RUN, patch):
        return None
    return {"deadline_at": deadline_at}


def _ages(pointer: str) -> bool:
    """Whether a value is of the state itself, and not of what time uses up."""
    return pointer in AGEING or pointer.startswith(OF_ALTERNATES)


def _is_place(pointer: str) -> bool:
    return pointer == POSITION or pointer.startswith(OF_ALTERNATES)


def _no_better_than(answer: Data) -> Body:
    deadline = answer.get("deadline")
    bound = {"verdict": answer["verdict"]}
    return bound if deadline is None else {**bound, "deadline_at": deadline["at"]}


def _weigh_anew(body: Body, before: Case, patch: Data) -> None:
    """With another fuel the mass is another one: what the aircraft weighs without it stays."""
    fuel_kg = value_at(body, FUEL)
    if not is_given(FUEL, patch) or is_given(MASS, patch) or not isinstance(fuel_kg, int | float):
        return
    empty_kg = before.aircraft.mass_kg - before.fuel.on_board_kg
    put(body, MASS, figure(empty_kg + fuel_kg))


def _forget_other_way(body: Body, before: Case, patch: Data) -> frozenset[str]:
    """Towards another destination than the stored one no miles are known but those given now.

    Takes the others out of the body, and says which of them it will not be given.
    """
    destination = body.get("destination")
    icao = destination.get("icao") if isinstance(destination, dict) else destination
    if icao == before.destination.aerodrome.icao:
        return frozenset()
    if isinstance(destination, dict) and not is_given(TO_RUN, patch):
        destination.pop("track_nm", None)
    if not is_given(ALTERNATES, patch):
        for each in body.get("alternates") or ():
            if isinstance(each, dict):
                each.pop("track_nm", None)
    return frozenset({TO_RUN})
