"""The measurement of calendars, at a small size: every way says the same, and the servers are real processes."""

import re

import pytest

from bench import __main__ as bench
from bench import calendar_servers, calendars, keep_alive


def test_it_is_a_measurement_and_what_it_stands_on_is_none():
    names = bench.measurements()
    assert "calendars" in names
    assert not {"calendar_servers", "keep_alive", "icalendar_build", "sites"} & set(names)


def test_writing_says_how_many_times_as_quick_it_is_on_the_same_bytes(capsys):
    assert calendars.writing(calendars.entries(40)) > 1
    assert re.search(r"40 events, \d+ octets, the same from each way", capsys.readouterr().out)


def test_the_farm_that_is_served_has_a_link_and_a_calendar(db):
    secret, octets = calendar_servers.published(batches=1)
    assert len(secret) == 32
    assert octets.count(b"BEGIN:VEVENT") > 100


def test_a_constant_is_served_by_a_process_of_its_own_and_asked_over_open_connections(tmp_path):
    (tmp_path / "x").write_bytes(b"constant")
    with calendar_servers.constant(tmp_path / "x") as port:
        asked = keep_alive.Asked(port, "/constant", {})
        assert (asked.once().status, asked.once().body, asked.once().tag) == (200, b"constant", '"constant"')
        again = keep_alive.Asked(port, "/constant", {"If-None-Match": '"constant"'})
        assert (again.once().status, again.once().body) == (304, b"")
        assert keep_alive.rate(asked, 0.1, connections=2) > 0
        assert keep_alive.rate(again, 0.1, connections=2) > 0


def test_a_server_that_ends_at_once_is_an_error_and_not_a_rate():
    with (
        pytest.raises(RuntimeError, match="ended at once"),
        calendar_servers._waitress("bench.nothing:here", {}),
    ):
        pass
