"""The product's own pages: Markdown files of service/docs, made into HTML once when it starts.

A fixed set of names is read at start, so no request can name a file. Raw HTML in a page is shown as
text. Links between the files are relative, so that they work in a repository browser as well; here
they are turned into addresses of the service.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Final

import mistune
from markupsafe import Markup, escape

FOLDER: Final = Path(__file__).parent / "docs"
FIGURES: Final = FOLDER / "figures"
INDEX: Final = "index"
ADDRESS: Final = "/docs"
_HEAD: Final = re.compile(r"<th[ >]")
WIDE_FROM: Final = 3
"""Columns from which a table may be wider than a phone."""
_LINK: Final = re.compile(r"^(?P<name>[a-z][a-z0-9-]*)\.md(?P<anchor>#[\w-]*)?$")
_FIGURE: Final = re.compile(r"^figures/(?P<name>[a-z0-9-]+\.svg)$")
_OWN: Final = re.compile(r' (?:href|src)="(?=/(?!/))')
"""Where an address of the service begins."""
_CODE: Final = re.compile(r"[A-Z]{2}-[0-9]{2}\b")  # of a rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page, ready to be sent."""

    name: str
    title: str
    html: Markup

    def under(self, root: str) -> Markup:
        """The page where every address of the service begins with a path (`representation.root`).

        A quotation mark outside of a tag is written as an entity, so only attributes are found.
        """
        if not root:
            return self.html
        begun = str(escape(root))
        return Markup(_OWN.sub(lambda found: found[0] + begun, self.html))  # noqa: S704  # ours


class _Renderer(mistune.HTMLRenderer):
    """HTML without raw HTML in it, with links that lead to the service's own addresses."""

    def __init__(self) -> None:
        super().__init__(escape=True)
        self._anchors: Counter[str] = Counter()
        self._tables: Counter[str] = Counter()
        self._title = ""

    def link(self, text: str, url: str, title: str | None = None) -> str:
        return super().link(text, _address(url), title)

    def heading(self, text: str, level: int, **attrs: object) -> str:
        name = anchor(text)
        self._title = re.sub(r"<[^>]+>", "", text)
        self._anchors[name] += 1
        again = f"-{self._anchors[name]}" if self._anchors[name] > 1 else ""
        return super().heading(text, level, **{**attrs, "id": name + again})

    def table(self, text: str) -> str:
        """A table in a stretch that scrolls by itself, so that keys reach what is beyond its edge;
        it is named after the heading above it. One of few columns wraps and needs no such place.
        """
        if len(_HEAD.findall(text)) < WIDE_FROM:
            return f"<table>\n{text}</table>\n"
        self._tables[self._title] += 1
        again = self._tables[self._title]
        name = self._title + (f", table {again}" if again > 1 else "")
        region = f'<div class="wide" tabindex="0" role="region" aria-label="{name}">'
        return f"{region}<table>\n{text}</table></div>\n"

    def image(self, text: str, url: str, title: str | None = None) -> str:
        return super().image(text, _address(url), title)


def anchor(heading: str) -> str:
    """The name by which a heading is linked to: the code of a rule, else all its words."""
    code = _CODE.match(heading)
    words = code[0] if code is not None else re.sub(r"<[^>]+>|&\w+;", "", heading)
    return "-".join(re.findall(r"[a-z0-9]+", words.lower()))


def _address(url: str) -> str:
    """Where a relative link between the files leads to here; another address as it is."""
    page = _LINK.match(url)
    if page is not None:
        name = page["name"]
        return (ADDRESS if name == INDEX else f"{ADDRESS}/{name}") + (page["anchor"] or "")
    figure = _FIGURE.match(url)
    return url if figure is None else f"{ADDRESS}/figures/{figure['name']}"


def rendered(name: str, text: str) -> Page:
    """A page from its Markdown. Raises: ValueError when it does not begin with a title."""
    first = text.partition("\n")[0]
    if not first.startswith("# "):
        raise ValueError(f"{name}.md must begin with a title: # ...")
    markdown = mistune.create_markdown(renderer=_Renderer(), plugins=["table"])
    html = markdown(text)
    return Page(name=name, title=first.removeprefix("# "), html=Markup(html))  # noqa: S704  # escaped by the renderer


@cache
def pages() -> Mapping[str, Page]:
    """Every page by name, the index among them."""
    files = sorted(FOLDER.glob("*.md"))
    return MappingProxyType(
        {file.stem: rendered(file.stem, file.read_text(encoding="utf-8")) for file in files}
    )


@cache
def figures() -> Mapping[str, bytes]:
    """Every figure by file name."""
    return MappingProxyType(
        {file.name: file.read_bytes() for file in sorted(FIGURES.glob("*.svg"))}
    )
