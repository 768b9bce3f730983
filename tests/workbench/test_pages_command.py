"""`python -m decision.workbench pages`: the service's pages that are made from data."""

from __future__ import annotations

from pathlib import Path

import pytest

from decision.workbench.__main__ import PAGES, main
from service.documents import FOLDER


def test_the_pages_are_written_as_the_service_shows_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "rules.md").write_text("of yesterday", encoding="utf-8")
    assert main(["pages", str(tmp_path)]) == 0
    assert {path.name for path in tmp_path.iterdir()} == set(PAGES)
    for name in PAGES:
        assert (tmp_path / name).read_bytes() == (FOLDER / name).read_bytes()
    assert capsys.readouterr().out.count(" written\n") == len(PAGES)


def test_a_page_that_is_right_is_left_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["pages", str(tmp_path)])
    capsys.readouterr()
    assert main(["pages", str(tmp_path)]) == 0
    assert capsys.readouterr().out == ""


def test_a_folder_that_is_not_there_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["pages", str(tmp_path / "none")]) == 64
    assert "No such file" in capsys.readouterr().err
