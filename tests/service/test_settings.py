from __future__ import annotations

import re
from dataclasses import fields
from pathlib import Path

import pytest

from service.settings import PREFIX, ROOT, SETTINGS, Settings, SettingsError, settings_from

README = ROOT / "README.md"


def test_without_an_environment_it_listens_on_loopback_and_records_where_it_is_started() -> None:
    settings = settings_from({"PATH": "/bin"})
    assert (settings.host, settings.port) == ("127.0.0.1", 8080)
    assert settings.store == f"sqlite:///{Path.cwd()}/var/decisions.sqlite3"


def test_the_table_and_the_settings_have_the_same_names() -> None:
    assert [setting.name for setting in SETTINGS] == [field.name for field in fields(Settings)]


def test_given_values_are_taken() -> None:
    settings = settings_from({"APPROACH_PORT": "9000", "APPROACH_LOG_LEVEL": "ERROR"})
    assert (settings.port, settings.log_level) == (9000, "ERROR")


@pytest.mark.parametrize(
    ("name", "value", "problem"),
    [
        ("APPROACH_PORT", "0", "a whole number from 1 to 65535"),
        ("APPROACH_PORT", "65536", "a whole number from 1 to 65535"),
        ("APPROACH_PORT", "８０", "a whole number from 1 to 65535"),
        ("APPROACH_PORT", "", "a whole number from 1 to 65535"),
        ("APPROACH_LOG_LEVEL", "info", "must be one of DEBUG, INFO, WARNING, ERROR"),
        ("APPROACH_HOST", " ", "must not be empty"),
        ("APPROACH_STORE", "mysql://x", "must start with sqlite:/// or postgresql+psycopg://"),
        ("APPROACH_COLOUR", "red", "no such setting"),
        ("APPROACH_PORT_FILE", "x", "no such setting"),
        ("APPROACH_STORE_FILE", "/no/such/file", "No such file"),
    ],
)
def test_a_wrong_setting_is_named(name: str, value: str, problem: str) -> None:
    with pytest.raises(SettingsError, match=re.escape(problem)) as error:
        settings_from({name: value})
    assert len(error.value.problems) == 1
    assert error.value.problems[0].startswith(name.removesuffix("_FILE"))


def test_every_wrong_setting_is_named_at_once() -> None:
    with pytest.raises(SettingsError) as error:
        settings_from({"APPROACH_PORT": "x", "APPROACH_THREADS": "0", "APPROACH_X": "1"})
    assert len(error.value.problems) == 3


def test_a_secret_may_come_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "store"
    file.write_text("postgresql+psycopg://u:secret@db/d\n")
    settings = settings_from({"APPROACH_STORE_FILE": str(file)})
    assert settings.store == "postgresql+psycopg://u:secret@db/d"


def test_a_secret_given_twice_is_refused(tmp_path: Path) -> None:
    given = {"APPROACH_STORE": "sqlite:///x", "APPROACH_STORE_FILE": str(tmp_path)}
    with pytest.raises(SettingsError, match="given twice"):
        settings_from(given)


def test_the_readme_explains_every_setting_and_no_other() -> None:
    explained = set(re.findall(rf"^\| `({PREFIX}[A-Z_]+)` \|", README.read_text(), re.MULTILINE))
    assert explained == {setting.variable for setting in SETTINGS}


@pytest.mark.parametrize("setting", SETTINGS, ids=lambda setting: setting.variable)
def test_the_readme_says_of_a_setting_what_the_table_says(setting: object) -> None:
    assert f"| {setting.help} |" in README.read_text()  # type: ignore[attr-defined]
