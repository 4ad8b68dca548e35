"""What holds of every rule: it says what trying each day by itself says, in every window."""

from datetime import date, timedelta

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from farm.planning.repeats import (
    RepeatError,
    days,
    first_day,
    in_words,
    last_day,
    next_day,
    parse,
    write,
)
from farm.planning.window import Window
from tests.planning.repeat_strategies import begun, rules, starts, tried

DAY = timedelta(days=1)


@given(begun(), st.sets(st.integers(0, 1900), max_size=30))
@settings(max_examples=150, deadline=None)
def test_the_days_are_those_found_by_trying_each(case, left_out):
    start, rule, window = case
    exceptions = frozenset(start + timedelta(days=n) for n in left_out)
    assert days(rule, start, window, exceptions) == tried(rule, start, window, exceptions)


@given(begun(intervals=st.integers(1, 366)), st.integers(1, 399))
@settings(max_examples=150, deadline=None)
def test_a_window_says_what_its_two_parts_say(case, at):
    start, rule, window = case
    assume(at < window.days)
    parts = Window(window.start, at), Window(window.day(at), window.days - at)
    assert days(rule, start, window) == days(rule, start, parts[0]) + days(rule, start, parts[1])


@given(begun(intervals=st.integers(1, 366)))
@settings(max_examples=150, deadline=None)
def test_next_and_last_walk_through_the_same_days(case):
    start, rule, window = case
    forth, day = [], window.start - DAY
    while (day := next_day(rule, start, day)) is not None and day < window.end:
        forth.append(day)
    back, day = [], window.end
    while (day := last_day(rule, start, day)) is not None and day >= window.start:
        back.append(day)
    assert tuple(forth) == tuple(reversed(back)) == days(rule, start, window)


@given(begun(), st.sets(st.integers(0, 40), max_size=20))
@settings(max_examples=100, deadline=None)
def test_leaving_days_out_takes_away_those_and_nothing_else(case, left_out):
    start, rule, window = case
    every = days(rule, start, window)
    exceptions = frozenset(every[n] for n in left_out if n < len(every))
    assert days(rule, start, window, exceptions) == tuple(day for day in every if day not in exceptions)


@given(st.data(), starts)
@settings(max_examples=100, deadline=None)
def test_a_count_is_that_many_days(data, start):
    rule = data.draw(rules(begin=start))
    assume(rule.count is not None)
    try:
        first = first_day(rule, start)
    except RepeatError:
        return
    found, day = [], first - DAY
    while (day := next_day(rule, start, day)) is not None:
        found.append(day)
    assert len(found) == rule.count
    assert last_day(rule, start, date.max) == found[-1]


@given(rules(intervals=st.integers(1, 366)))
@settings(max_examples=200, deadline=None)
def test_what_is_written_reads_as_the_same_rule(rule):
    assert parse(write(rule)) == rule
    assert write(parse(write(rule).lower())) == write(rule)


@given(rules(intervals=st.integers(1, 366)))
@settings(max_examples=100, deadline=None)
def test_every_rule_has_words(rule):
    said = str(in_words(rule))
    assert said.startswith("every ")
    assert "%" not in said


@given(st.text(max_size=220) | st.text("FREQINTVALBYDOUMHWKS=;,+-0123456789", max_size=220))
@settings(max_examples=300, deadline=None)
def test_no_text_at_all_does_more_than_be_refused(text):
    try:
        said = str(in_words(parse(text)))
    except RepeatError as refused:
        said = str(refused.phrase)
    assert said


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["FREQ", "INTERVAL", "BYDAY", "BYMONTHDAY", "UNTIL", "COUNT", "WKST", "BYHOUR"]),
            st.sampled_from(
                ["DAILY", "WEEKLY", "MONTHLY", "1", "0", "-1", "31", "MO", "2TU", "MO,FR", "20310229"]
            ),
        ),
        max_size=5,
    )
)
@settings(max_examples=300, deadline=None)
def test_whatever_is_accepted_can_be_written_said_and_dated(parts):
    try:
        rule = parse(";".join(f"{name}={value}" for name, value in parts))
    except RepeatError:
        return
    assert parse(write(rule)) == rule
    assert str(in_words(rule))
    assert len(days(rule, date(2024, 1, 31), Window(date(2026, 1, 1), 31))) <= 31
