"""JSON lines: one object each, whatever is in them, and never a secret."""

import io
import json
import logging

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.settings import env
from farm.settings.logs import FORMATS, JsonFormatter, formatter, job_id, job_name, request_id

TOKEN = st.text("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_", min_size=20, max_size=64)


@pytest.fixture
def logger():
    made = logging.Logger("farm.trial")
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.setFormatter(JsonFormatter())
    made.addHandler(handler)
    made.lines = lambda: [json.loads(line) for line in out.getvalue().splitlines()]
    made.text = out.getvalue
    return made


def test_a_line_says_when_how_grave_who_and_what(logger):
    logger.warning("batch %s of %s", 3, "Hollow Farm")
    [line] = logger.lines()
    assert line.pop("time").endswith("+00:00")
    assert line == {"level": "WARNING", "logger": "farm.trial", "message": "batch 3 of Hollow Farm"}


def test_it_says_the_request_or_the_job_it_belongs_to(logger):
    tokens = [
        (each, each.set(text)) for each, text in ((request_id, "r1"), (job_id, "j1"), (job_name, "roll_over"))
    ]
    try:
        logger.info("here")
    finally:
        for each, token in tokens:
            each.reset(token)
    logger.info("and outside")
    first, second = logger.lines()
    assert (first["request"], first["job_id"], first["job"]) == ("r1", "j1", "roll_over")
    assert not {"request", "job_id", "job"} & set(second)


def test_known_fields_are_carried_as_they_are_and_others_are_not(logger):
    logger.info("done", extra={"route": "today", "status": 200, "ms": 12.5, "farm": 7, "password": "x"})
    [line] = logger.lines()
    assert (line["route"], line["status"], line["ms"], line["farm"]) == ("today", 200, 12.5, 7)
    assert "password" not in line


def test_a_traceback_is_one_field_of_one_line(logger):
    try:
        raise RuntimeError("first\nsecond /c/abcdefghijklmnopqrstuvwxyz.ics")
    except RuntimeError:
        logger.exception("could not")
    [line] = logger.lines()
    assert line["traceback"].endswith("RuntimeError: first\nsecond /c/[secret]")


@given(TOKEN, st.sampled_from(['"', "'", "\\", "\n", " ", "?x=1", '"}\n{"level": "x', "…"]))
def test_no_secret_comes_through_and_every_line_stays_one_object(token, after):
    record = logging.LogRecord("farm.trial", logging.INFO, "", 0, "GET /c/%s%s", (token, after), None)
    line = JsonFormatter().format(record)
    assert "\n" not in line
    assert token not in line
    assert json.loads(line)["message"].startswith("GET /c/[secret]")


def test_who_logs_can_not_forge_a_second_line(logger):
    logger.info('name\n{"level": "ERROR", "message": "forged"}')
    assert len(logger.text().splitlines()) == 1


@pytest.mark.parametrize("name", FORMATS)
def test_each_format_is_one_django_can_make(name):
    import logging.config

    logging.config.dictConfig(
        {"version": 1, "disable_existing_loggers": False, "formatters": {"chosen": formatter(name)}}
    )


def test_a_format_nobody_wrote_stops_the_start(monkeypatch):
    monkeypatch.setenv("FEATHERDAYS_LOG_FORMAT", "xml")
    with pytest.raises(env.SettingError, match=r"FEATHERDAYS_LOG_FORMAT is 'xml'. Write one of: line, json"):
        env.choice("FEATHERDAYS_LOG_FORMAT", "line", FORMATS)
