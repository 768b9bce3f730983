"""One answer in three forms: JSON, the brief as plain text, the brief as a page.

Text and page are made from the JSON, so a recorded decision reads the same for ever. The strong
ETag is the SHA-256 of the very bytes sent: each form has its own.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final
from urllib.parse import quote, urlencode, urlsplit

from flask import Flask, Response, render_template, request
from markupsafe import Markup

from decision.legible import visible
from service.clock import Clock
from service.engine import Engine
from service.jsontext import read_json, write_json
from service.negotiation import HTML, JSON, TEXT
from service.page import DO, SLIDERS, decision_page, names_of_courses
from service.problems import Problem, base
from service.store.port import digest

LINK: Final = {"Link": "The page after this one, rel=next; absent after the last."}
STYLE: Final = Markup((Path(__file__).parent / "templates" / "page.css").read_text("utf-8"))  # noqa: S704  # our own file
STYLE_HASH: Final = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
PAGE_POLICY: Final = (
    f"default-src 'none'; style-src 'sha256-{STYLE_HASH}'; img-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
SCRIPT_POLICY: Final = f"{PAGE_POLICY}; script-src 'self'; connect-src 'self'"


def represented(
    content: bytes, form: str, engine: Engine, clock: Clock, *, whole: bytes | None = None
) -> Response:
    """An answer, given as its JSON bytes, in the form asked for.

    Text and page are made from the `whole` of it; what has none is of a time when it was sent.
    The page says by the `clock` whether the answer has run out.
    """
    response = FORMS[form](content if form == JSON or whole is None else whole, engine, clock)
    response.set_etag(digest(response.get_data()))
    return response


def json_response(answer: object) -> Response:
    """An answer that has no other form."""
    return Response(write_json(answer), mimetype=JSON)


def linked(response: Response, following: Mapping[str, object] | None) -> Response:
    """The answer with a link to the page after it (RFC 8288), by the query that asks for that."""
    if following is not None:
        query = urlencode({**request.args, **following})
        response.headers["Link"] = f'<{quote(request.path)}?{query}>; rel="next"'
    return response


def page(template: str, *, scripts: Sequence[str] = (), **values: object) -> Response:
    """A page of the service's own, that loads nothing from anywhere but its own `scripts`."""
    shown = render_template(template, style=STYLE, root=root(), scripts=scripts, **values)
    response = Response(shown, mimetype=HTML)
    response.headers["Content-Security-Policy"] = SCRIPT_POLICY if scripts else PAGE_POLICY
    return response


def sign_in_page_of(
    then: str, *, problem: Problem | None = None, refused: bool = False
) -> Response:
    """The page for signing in, in answer to a problem if there is one; then another is shown."""
    response = page("sign-in.html", then=then, asked=problem is not None, refused=refused)
    # With the policy of every other page a browser would not say where the form was sent from.
    response.headers["Referrer-Policy"] = "same-origin"
    if problem is not None:
        response.status_code = problem.kind.status
        response.headers.extend(problem.headers)
    return response


def root() -> str:
    """The path that addresses of this service begin with where a browser sees it, without a slash
    at its end: empty unless it stands under a path of its own.
    """
    return urlsplit(base()).path.rstrip("/")


def write_out_controls(app: Flask) -> None:
    """Have every text that a page is filled with shown with its control characters written out."""
    app.jinja_options = {**app.jinja_options, "finalize": _shown}


def _shown(value: object) -> object:
    """Of a text of others; what is marked up is our own."""
    return visible(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def _json(content: bytes, _engine: Engine, _clock: Clock) -> Response:
    return Response(content, mimetype=JSON)


def _text(content: bytes, engine: Engine, _clock: Clock) -> Response:
    return Response(engine.brief(read_json(content)), mimetype=TEXT)


def _html(content: bytes, _engine: Engine, clock: Clock) -> Response:
    answer = read_json(content)
    shown = decision_page(answer, now=clock())
    recorded = answer.get("id") is not None
    return page(
        "decision.html",
        scripts=("deadline.js", "what-if.js") if recorded else ("deadline.js",),
        page=shown,
        answer=answer,
        sliders=SLIDERS,
        names=names_of_courses(answer),
        actions=json.dumps(DO),
    )


FORMS: Final = MappingProxyType({JSON: _json, TEXT: _text, HTML: _html})
