"""The table of addresses in the README and in the tour, made from the views.

`python -m service.openapi` writes it where the pages have it; a test compares.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from service.documents import FOLDER
from service.resources import VIEWS
from service.settings import ROOT

HEAD: Final = "| method and path | key with | does |\n| --- | --- | --- |\n"
TABLE: Final = re.compile(re.escape(HEAD) + r"(?:\|.*\|\n)*")
PAGES: Final = (ROOT / "README.md", FOLDER / "api.md")


def table() -> str:
    """A row for each address, in the order of the API document."""
    rows = (
        f"| `{view.address.method} {view.address.template}` | {view.address.scope.value}"
        f" | {view.address.summary} |\n"
        for view in VIEWS
    )
    return HEAD + "".join(rows)


def with_table(text: str) -> str:
    """A page with its table as it must be. Raises: ValueError unless it has exactly one."""
    made, count = TABLE.subn(lambda _: table(), text)
    if count != 1:
        raise ValueError("the page must have one table of addresses")
    return made


def write(pages: tuple[Path, ...] = PAGES) -> None:
    """Write the table into its pages where it changes them: a reader always finds them whole."""
    for page in pages:
        text = page.read_text(encoding="utf-8")
        if (made := with_table(text)) != text:
            page.write_text(made, encoding="utf-8")
