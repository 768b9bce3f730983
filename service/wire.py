"""What an answer is on the wire: its ETag, what the caller has already, and its coding.

Every answer of a GET that can be had again has a strong ETag of its bytes, with a suffix for each
content coding (RFC 9110, 8.8.3.3), and is 304 where the caller has it. What is long enough is
packed for callers who take that; lines that are sent as they are made are packed line by line, so
that none waits for the next.
"""

from __future__ import annotations

import gzip
import zlib
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from http import HTTPStatus
from types import MappingProxyType
from typing import Any, Final, Protocol

from flask import Flask, Response, request

from service.address import View
from service.negotiation import HTML, IDENTITY, JSON, JSON_LINES, SVG, TEXT
from service.problems import MEDIA_TYPE
from service.store.port import digest

try:
    import brotli
except ImportError:  # an extra
    brotli = None

SHORTEST: Final = 1_000  # bytes; below it packing costs more than it saves
LEVEL: Final = 5  # of gzip: within 3 % of level 9 for answers, in a third of its time
QUALITY: Final = 4  # of Brotli: as quick as that, and some 5 % smaller
PACKED: Final = frozenset({JSON, TEXT, HTML, SVG, MEDIA_TYPE, "text/css", "text/javascript"})
REVALIDATE: Final = "private, no-cache"  # the bytes are asked for again; who may see them can
GZIP_WINDOW: Final = 31  # zlib's own number for the gzip format


class Packer(Protocol):
    """Packs a stream piece by piece."""

    def piece(self, content: bytes) -> bytes:
        """All that can be unpacked of what came so far."""

    def end(self) -> bytes:
        """What is still missing."""


class _Gzip:
    def __init__(self) -> None:
        self._packer = zlib.compressobj(LEVEL, zlib.DEFLATED, GZIP_WINDOW)

    def piece(self, content: bytes) -> bytes:
        return self._packer.compress(content) + self._packer.flush(zlib.Z_SYNC_FLUSH)

    def end(self) -> bytes:
        return self._packer.flush()


class _Brotli:
    def __init__(self) -> None:
        self._packer: Any = brotli.Compressor(quality=QUALITY)

    def piece(self, content: bytes) -> bytes:
        packed: bytes = self._packer.process(content) + self._packer.flush()
        return packed

    def end(self) -> bytes:
        packed: bytes = self._packer.finish()
        return packed


def _gzipped(content: bytes) -> bytes:
    return gzip.compress(content, LEVEL, mtime=0)  # the same bytes whenever


def _brotlied(content: bytes) -> bytes:
    packed: bytes = brotli.compress(content, quality=QUALITY)
    return packed


# By our preference; the caller's own goes first.
WHOLE: Final[MappingProxyType[str, Callable[[bytes], bytes]]] = MappingProxyType(
    ({} if brotli is None else {"br": _brotlied}) | {"gzip": _gzipped}
)
STREAMED: Final[MappingProxyType[str, Callable[[], Packer]]] = MappingProxyType(
    ({} if brotli is None else {"br": _Brotli}) | {"gzip": _Gzip}
)


def prepare_answers(app: Flask, views: Sequence[View]) -> None:
    """See above. Register after what sets headers of its own at the end of a request."""
    of_the_moment = frozenset(each.id for each in views if each.address.of_the_moment)

    @app.after_request
    def prepare(response: Response) -> Response:
        if response.is_streamed:
            return _streamed(response)
        had_again = _is_had_again(response, of_the_moment)
        if had_again:
            _tag(response)
        coding = _agreed(response)
        if had_again:
            response.make_conditional(request)
        if coding != IDENTITY and response.status_code != HTTPStatus.NOT_MODIFIED:
            response.set_data(WHOLE[coding](response.get_data()))
            response.content_encoding = coding
        return response


def _agreed(response: Response) -> str:
    """The coding that the body will have; its ETag has it already."""
    if response.mimetype not in PACKED or len(response.get_data()) < SHORTEST:
        return IDENTITY
    response.vary.add("Accept-Encoding")
    coding = _coding()
    known, weak = response.get_etag()
    if known is not None and coding != IDENTITY:
        response.set_etag(f"{known}-{coding}", weak=bool(weak))
    return coding


def _coding() -> str:
    """The coding that the caller takes best; of those taken alike ours."""
    accepted = request.accept_encodings
    best = max(WHOLE, key=lambda coding: accepted[coding] or 0.0)
    quality = accepted[best] or 0.0
    plain = IDENTITY in accepted.values() and accepted[IDENTITY] > quality
    return IDENTITY if quality <= 0.0 or plain else best


def _is_had_again(response: Response, of_the_moment: Collection[str]) -> bool:
    return (
        request.method in {"GET", "HEAD"}
        and response.status_code == HTTPStatus.OK
        and request.endpoint not in of_the_moment
    )


def _tag(response: Response) -> None:
    if response.get_etag()[0] is None:
        response.set_etag(digest(response.get_data()))
    response.headers.setdefault("Cache-Control", REVALIDATE)


def _streamed(response: Response) -> Response:
    if response.mimetype not in JSON_LINES:
        return response  # streams of events are for callers who wait for each
    response.vary.add("Accept-Encoding")
    coding = _coding()
    if coding != IDENTITY:
        response.response = _packed(response.response, STREAMED[coding]())
        response.content_encoding = coding
    return response


def _packed(pieces: Iterable[str | bytes], packer: Packer) -> Iterator[bytes]:
    """Each piece packed by itself; closing this closes them."""
    try:
        for piece in pieces:
            yield packer.piece(piece.encode() if isinstance(piece, str) else piece)
        yield packer.end()
    finally:
        close = getattr(pieces, "close", None)
        if close is not None:
            close()
