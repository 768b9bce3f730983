"""The settings of the source: checked at start, and never shown."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from service.app import create_app
from service.settings import SettingsError, settings_from
from tests.service.builders import plain_engine, service_settings
from tests.service.fetching.builders import KEY

URL = f"https://weather.example/{{kind}}?ids={{stations}}&key={KEY}"


@pytest.mark.parametrize("environment", [{}, {"APPROACH_WEATHER_URL": " "}])
def test_without_an_address_there_is_no_source(environment: dict[str, str]) -> None:
    settings = settings_from(environment)
    assert settings.weather_url is None
    assert settings.weather_hosts == ()
    assert settings.weather_deadline_s == 5


def test_the_address_may_be_kept_in_a_file_and_is_not_shown(tmp_path: Path) -> None:
    file = tmp_path / "url"
    file.write_text(URL + "\n")
    settings = settings_from({"APPROACH_WEATHER_URL_FILE": str(file)})
    assert settings.weather_url is not None
    assert settings.weather_url.text == URL
    assert KEY not in repr(settings)


@pytest.mark.parametrize(
    "environment",
    [
        {},
        {"APPROACH_WEATHER_HOSTS": "weather.example"},
        {"APPROACH_WEATHER_HOSTS": " Other.example, WEATHER.example ,"},
    ],
)
def test_a_source_may_be_on_a_host_that_is_allowed(
    environment: dict[str, str], tmp_path: Path
) -> None:
    settings = service_settings(tmp_path, APPROACH_WEATHER_URL=URL, **environment)
    client = create_app(settings, engine=plain_engine()).test_client()
    assert client.get("/readyz").get_json()["weather_source"] == "closed"


@pytest.mark.parametrize(
    ("environment", "problem"),
    [
        ({"APPROACH_WEATHER_HOSTS": "other.example"}, "its host is not in APPROACH_WEATHER_HOSTS"),
        ({"APPROACH_WEATHER_URL": f"http://weather.example/{KEY}/{{stations}}"}, "this machine"),
        ({"APPROACH_WEATHER_URL": f"https://weather.example/{KEY}"}, "must hold {stations}"),
        ({"APPROACH_WEATHER_DEADLINE_S": "0"}, "a whole number from 1 to 30"),
        ({"APPROACH_WEATHER_DEADLINE_S": "31"}, "a whole number from 1 to 30"),
    ],
)
def test_a_wrong_setting_of_the_source_is_named_and_not_repeated(
    environment: dict[str, str], problem: str
) -> None:
    with pytest.raises(SettingsError, match=re.escape(problem)) as error:
        settings_from({"APPROACH_WEATHER_URL": URL} | environment)
    assert len(error.value.problems) == 1
    assert KEY not in str(error.value)
