"""The gallery of figures: current, and whole without a style sheet above it."""

from __future__ import annotations

from xml.etree.ElementTree import fromstring

import pytest

from service.documents import FIGURES
from service.settings import ROOT
from tests.bench.gallery import GALLERY, SVG, drawings, standing_alone

LARGEST_BYTES = 20_000


@pytest.fixture(scope="module")
def drawn() -> dict[str, str]:
    return dict(drawings())


@pytest.mark.parametrize("name", [f"page-{each.name}.svg" for each in GALLERY])
def test_a_figure_of_the_gallery_is_what_the_page_draws_now(
    drawn: dict[str, str], name: str
) -> None:
    kept = (FIGURES / name).read_text(encoding="utf-8")
    assert kept == drawn[name], "run: python -m tests.bench.gallery"
    assert len(kept.encode()) < LARGEST_BYTES
    assert (FIGURES / name).name in (ROOT / "README.md").read_text(encoding="utf-8")


def test_a_figure_of_the_gallery_needs_no_style_sheet(drawn: dict[str, str]) -> None:
    assert drawn
    for text in drawn.values():
        root = fromstring(text)  # noqa: S314 - our own
        assert root[0].tag == f"{{{SVG}}}title"
        assert root[1].attrib["fill"] == "#fcfbf8"
        for each in root.iter():
            assert each.get("class") is None
            assert "var(" not in " ".join(each.attrib.values())


def test_a_class_weighs_more_than_an_element_wherever_it_stands_in_the_sheet() -> None:
    text = standing_alone(
        '<svg class="drawing w366" width="10" height="10" aria-label="a">'
        '<text class="label">b</text><text class="quoted">c</text></svg>'
    )
    root = fromstring(text)  # noqa: S314 - our own
    label, quoted = root[2].attrib, root[3].attrib
    assert (label["font-size"], label["fill"]) == ("13px", "#57534a")
    assert (quoted["font-size"], quoted["fill"]) == ("12px", "#17150f")
    assert "monospace" in quoted["font-family"]
