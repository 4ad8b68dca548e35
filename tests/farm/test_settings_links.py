"""The address of a service is read strictly: a slip stops the start and says what to write."""

import pytest

from farm.settings import env

FALLBACK = "https://weather.example/forecast"


@pytest.mark.parametrize("word", ["http://127.0.0.1:9/x", "https://weather.example/a/b", FALLBACK])
def test_a_whole_address_is_taken_as_it_stands(monkeypatch, word):
    monkeypatch.setenv("FEATHERDAYS_X", f" {word} ")
    assert env.link("FEATHERDAYS_X", FALLBACK) == word


def test_nothing_said_is_the_default(monkeypatch):
    monkeypatch.setenv("FEATHERDAYS_X", "")
    assert env.link("FEATHERDAYS_X", FALLBACK) == FALLBACK


@pytest.mark.parametrize(
    "word",
    [
        "weather.example",
        "ftp://weather.example",
        "file:///etc/passwd",
        "https://",
        "https://me:pw@weather.example/",
        "https://weather.example/?key=1",
        "https://weather.example/#x",
        "https://weather.example:port/",
    ],
)
def test_what_is_no_address_of_a_service_stops_the_start(monkeypatch, word):
    monkeypatch.setenv("FEATHERDAYS_X", word)
    with pytest.raises(env.SettingError, match="FEATHERDAYS_X"):
        env.link("FEATHERDAYS_X", FALLBACK)
