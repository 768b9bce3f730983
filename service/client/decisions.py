"""The addresses of the service as methods; a case and an answer are what JSON makes of them."""

from __future__ import annotations

import json
import uuid
from collections import OrderedDict
from collections.abc import Generator, Iterable, Iterator, Mapping, Sequence
from types import TracebackType
from typing import Any, Final, Self
from urllib.parse import parse_qsl, quote, urlsplit

from service.client.calls import (
    JSON,
    LINES,
    TEXT,
    Bounds,
    Call,
    Calls,
    CutOff,
    NoAnswer,
    told_apart,
)
from service.client.streams import StreamedEvent, lines_of, told_over

Data = Mapping[str, Any]
Case = Mapping[str, Any] | bytes

DECISIONS: Final = "/v1/decisions"
SWEEPS: Final = "/v1/sweeps"
WATCHES: Final = "/v1/watches"
KEY: Final = "Idempotency-Key"
REMEMBERED: Final = 128  # answers, with their ETags
UNCHANGED: Final = 304
BATCH_SILENCE_S: Final = 600.0  # the service decides for as long, by default


class Client:
    """What one caller does with one service.

    Every method may raise RequestRefused, NoAnswer or CutOff.

    `address`: what the service is reached by. `key`: the text of a key, where one is asked for.
    `plain_http`: a key may go over http to another machine. Raises: ValueError.
    """

    def __init__(
        self,
        address: str,
        *,
        key: str | None = None,
        bounds: Bounds | None = None,
        plain_http: bool = False,
    ) -> None:
        self._bounds = bounds or Bounds()
        self._calls = Calls(address, key=key, bounds=self._bounds, plain_http=plain_http)
        self._remembered: OrderedDict[tuple[str, str], tuple[str, bytes]] = OrderedDict()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Give the connections back."""
        self._calls.close()

    # --- deciding ---

    def decide(self, case: Case, *, record: bool = True, key: str | None = None) -> dict[str, Any]:
        """Decide a case; recorded once, however often it has to be sent.

        `key`: the Idempotency-Key, for who may have sent it before; by default a new one.
        """
        headers = {KEY: key or new_key()} if record else {}
        query = {} if record else {"record": "false"}
        return self._posted(DECISIONS, case, headers=headers, query=query)

    def again(
        self,
        decision_id: str,
        *,
        patch: Data | None = None,
        add_reports: Sequence[str] = (),
        key: str | None = None,
    ) -> dict[str, Any]:
        """Decide a recorded case as it is now, with a merge patch and new reports; recorded."""
        body = {"patch": patch or {}, "add_reports": list(add_reports)}
        path = f"{_decision(decision_id)}/again"
        return self._posted(path, body, headers={KEY: key or new_key()})

    def what_if(
        self,
        decision_id: str,
        patches: Sequence[Data] = (),
        *,
        inputs: Sequence[Data] = (),
        turns_of: Sequence[str] = (),
    ) -> dict[str, Any]:
        """Try patches of a recorded case, and its inputs at other values; nothing is recorded."""
        asked = {"patches": patches, "inputs": inputs, "turns_of": turns_of}
        body = {name: list(each) for name, each in asked.items() if each}
        return self._posted(f"{_decision(decision_id)}/what-if", body)

    def batch(
        self, cases: Iterable[Case], *, record: bool = False, view: str | None = None
    ) -> Iterator[dict[str, Any]]:
        """Decide many cases: what each line got, in order, as it comes.

        Raises CutOff where the answer ends before its last line: what came until then holds.
        """
        content = b"".join(_line(each) for each in cases)
        query = {"record": "true"} if record else {}
        call = Call(
            method="POST",
            path=f"{DECISIONS}/batch",
            accept=LINES,
            query=query if view is None else {**query, "view": view},
            content=content,
            content_type=LINES,
            headers={KEY: new_key()} if record else {},
            streamed=True,
            silence_s=BATCH_SILENCE_S,
        )
        yield from self._lines(call)

    def sweep(
        self,
        flights: Iterable[Data],
        *,
        failures: Iterable[Data] = (),
        as_it_is: bool = False,
        pairs: bool = False,
        shifts: Iterable[Data] = (),
        from_minute: bool = False,
    ) -> Iterator[dict[str, Any]]:
        """Ask flights with failures that have not happened: rows, then summaries, as they come.

        Without `failures` every one of each flight's profile. Raises CutOff where the answer ends
        before its last line: what came until then holds.
        """
        asked = {
            "flights": list(flights),
            "failures": list(failures),
            "shifts": list(shifts),
            "as_it_is": as_it_is,
            "pairs": pairs,
            "from_minute": from_minute,
        }
        yield from self._lines(
            Call(
                method="POST",
                path=SWEEPS,
                accept=LINES,
                content=json.dumps(asked).encode(),
                streamed=True,
                silence_s=BATCH_SILENCE_S,
            )
        )

    def _lines(self, call: Call) -> Iterator[dict[str, Any]]:
        """The lines of an answer but its last. Raises: CutOff without that."""
        with self._calls.answer(call) as answer:
            count = 0
            for line in lines_of(answer):
                told: dict[str, Any] = json.loads(line)
                if told.get("end") is True:
                    if told["count"] != count:
                        raise CutOff(f"{call.path}: {count} lines came of {told['count']}")
                    return
                count += 1
                yield told
        raise CutOff(f"{call.path}: the answer ended after {count} lines, without its last")

    # --- watching ---

    def watch(
        self,
        decision_id: str,
        *,
        until: str,
        webhook: Data | None = None,
        key: str | None = None,
    ) -> dict[str, Any]:
        """Keep a recorded decision under watch until an instant (RFC 3339); begun once."""
        body = {"decision_id": decision_id, "until": until}
        more = {} if webhook is None else {"webhook": webhook}
        return self._posted(WATCHES, {**body, **more}, headers={KEY: key or new_key()})

    def give_state(self, watch_id: str, patch: Data) -> dict[str, Any]:
        """Give the state of an aircraft under watch, as a merge patch; it is decided on soon."""
        return self._posted(f"{_watch(watch_id)}/state", {"patch": patch})

    def hand_in(self, reports: Sequence[str], *, received_at: str | None = None) -> dict[str, Any]:
        """Hand in raw reports for whatever is under watch; a text that came before is known."""
        more = {} if received_at is None else {"received_at": received_at}
        return self._posted("/v1/reports", {"reports": list(reports), **more})

    def end_watch(self, watch_id: str) -> dict[str, Any]:
        """End a watch."""
        path = _watch(watch_id)
        with self._calls.answer(Call(method="DELETE", path=path)) as answer:
            told: dict[str, Any] = _read(answer.content, path)
        return told

    # --- reading ---

    def get(self, path: str, *, query: Mapping[str, str] | None = None) -> Any:  # noqa: ANN401  # any JSON value
        """What an address has, such as `/v1/profiles`; what is unchanged is not sent again."""
        return _read(self._got(path, JSON, query), path)

    def decision(self, decision_id: str) -> dict[str, Any]:
        """A recorded decision."""
        found: dict[str, Any] = self.get(_decision(decision_id))
        return found

    def brief(self, decision_id: str) -> str:
        """A recorded decision in words."""
        return self._got(_decision(decision_id), TEXT, None).decode()

    def history(self, flight_id: str, *, page: int = 20) -> Iterator[dict[str, Any]]:
        """What was decided for a flight, newest first, page after page.

        Raises CutOff where the service has a record that it cannot hand out: the rest has come.
        """
        path: str | None = f"/v1/flights/{quote(flight_id, safe='')}/decisions"
        query: Mapping[str, str] = {"limit": str(page)}
        damaged: list[Data] = []
        while path is not None:
            call = Call(method="GET", path=path, query=query)
            with self._calls.answer(call) as answer, told_apart(path):
                told = answer.json()
                following = answer.links.get("next")
            yield from told["decisions"]
            damaged += told["damaged"]
            path = None if following is None else path
            query = {} if following is None else dict(parse_qsl(urlsplit(following["url"]).query))
        if damaged:
            raise CutOff(f"{len(damaged)} records are damaged, {damaged[0]['id']} the first")

    def events(
        self,
        *,
        flights: Sequence[str] = (),
        watches: Sequence[str] = (),
        last_event_id: str | None = None,
    ) -> Generator[StreamedEvent, None, None]:
        """What changes in decisions under watch, as it happens; of all of them, or of some.

        Does not end: it comes back by itself after an interruption, with the id that was told last.
        An event may come twice. Close the generator to end.
        """
        query = {"flight": ",".join(flights), "watch": ",".join(watches)}
        given = {name: value for name, value in query.items() if value}
        return told_over(self._calls, query=given, last_event_id=last_event_id)

    # --- in common ---

    def post(self, path: str, body: Case) -> dict[str, Any]:
        """What one of the tools answers, such as `/v1/weather/decode`; nothing is recorded."""
        return self._posted(path, body)

    def _posted(
        self,
        path: str,
        body: Case,
        *,
        headers: Mapping[str, str] | None = None,
        query: Mapping[str, str] | None = None,
    ) -> dict[str, Any]:
        call = Call(method="POST", path=path, query=query, content=_content(body), headers=headers)
        answer = self._calls.answer(call)
        told = _read(answer.content, path)
        if not isinstance(told, dict):
            raise NoAnswer(f"{path}: no object of JSON")
        return told

    def _got(self, path: str, form: str, query: Mapping[str, str] | None) -> bytes:
        """The bytes of an answer, remembered ones where they are still right."""
        name = (form, f"{path}?{sorted((query or {}).items())}")
        known = self._remembered.get(name)
        headers = {} if known is None else {"If-None-Match": known[0]}
        call = Call(method="GET", path=path, accept=form, query=query, headers=headers)
        answer = self._calls.answer(call)
        if known is not None and answer.status_code == UNCHANGED:
            self._remembered.move_to_end(name)
            return known[1]
        if tag := answer.headers.get("ETag"):
            self._remembered[name] = (tag, answer.content)
            if len(self._remembered) > REMEMBERED:
                self._remembered.popitem(last=False)
        return answer.content


def new_key() -> str:
    """An Idempotency-Key that nobody has."""
    return str(uuid.uuid4())


def _decision(identity: str) -> str:
    return f"{DECISIONS}/{quote(identity, safe='')}"


def _watch(identity: str) -> str:
    return f"{WATCHES}/{quote(identity, safe='')}"


def _content(body: Case) -> bytes:
    """Raises: ValueError for a number that is not finite."""
    return body if isinstance(body, bytes) else json.dumps(body, allow_nan=False).encode()


def _line(case: Case) -> bytes:
    content = _content(case).strip()
    if b"\n" in content:
        content = json.dumps(json.loads(content), allow_nan=False).encode()
    return content + b"\n"


def _read(content: bytes, path: str) -> Any:  # noqa: ANN401  # any JSON value
    """Raises: NoAnswer."""
    try:
        return json.loads(content)
    except ValueError as error:
        raise NoAnswer(f"{path}: not JSON: {error}") from error
