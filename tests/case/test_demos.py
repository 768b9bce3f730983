"""The demo cases are installed with the package, each with words that say what it shows."""

from __future__ import annotations

from pathlib import Path

import pytest

from decision.case.demos import demos_in, installed_demos
from decision.errors import DataError

WORDS = '[calm]\ntitle = "Calm"\nmeaning = "Nothing happens."\n'
LONGEST_TITLE = 60


def folder_with(folder: Path, *, titles: str = WORDS, cases: tuple[str, ...] = ("calm",)) -> Path:
    (folder / "titles.toml").write_text(titles, encoding="utf-8")
    for name in cases:
        (folder / f"{name}.json").write_text('{"flight_id": "XA 1"}', encoding="utf-8")
    return folder


def test_a_demo_case_has_a_title_and_a_sentence_of_its_own() -> None:
    demos = installed_demos()
    titles = {each.title for each in demos}
    assert len(titles) == len({each.meaning for each in demos}) == len(demos)
    assert max(len(title) for title in titles) <= LONGEST_TITLE
    assert {each.meaning[-1] for each in demos} == {"."}


def test_a_demo_case_is_read_with_its_words_and_its_request_is_fresh(tmp_path: Path) -> None:
    (calm,) = demos_in(folder_with(tmp_path))
    assert (calm.name, calm.title, calm.meaning) == ("calm", "Calm", "Nothing happens.")
    calm.request()["flight_id"] = "other"
    assert calm.request() == {"flight_id": "XA 1"}


@pytest.mark.parametrize(
    ("titles", "cases", "problem"),
    [
        (WORDS, ("calm", "storm"), "storm: must have both"),
        (WORDS, (), "calm: must have both"),
        ('[calm]\ntitle = "Calm"\n', ("calm",), "meaning"),
        (WORDS + 'colour = "red"\n', ("calm",), "colour"),
        ("[calm", ("calm",), r"titles\.toml: titles"),
    ],
    ids=["no words", "no case", "no meaning", "unknown word", "no TOML"],
)
def test_a_case_without_words_and_words_without_a_case_are_refused(
    tmp_path: Path, titles: str, cases: tuple[str, ...], problem: str
) -> None:
    with pytest.raises(DataError, match=problem):
        demos_in(folder_with(tmp_path, titles=titles, cases=cases))
