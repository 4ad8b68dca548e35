"""Rules as text and in words: what is read, what is refused and how it is said."""

from datetime import date

import pytest

from farm.planning.repeats import (
    COUNT_MOST,
    INTERVAL_MOST,
    TEXT_MOST,
    Repeat,
    RepeatError,
    in_words,
    parse,
    write,
)


def refused(text, **fields):
    with pytest.raises(RepeatError) as caught:
        parse(text, **fields)
    return str(caught.value.phrase)


def test_a_rule_is_read_part_by_part():
    assert parse("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH;UNTIL=20310504") == Repeat(
        "weekly", 2, weekdays=(0, 3), until=date(2031, 5, 4)
    )


def test_the_order_of_parts_and_days_small_letters_and_a_leading_name_change_nothing():
    assert parse(" rrule:byday=TH,MO,TH;count=5;freq=weekly ") == Repeat("weekly", weekdays=(0, 3), count=5)


@pytest.mark.parametrize(
    "text, rule",
    [
        ("FREQ=DAILY", Repeat("daily")),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", Repeat("monthly", monthday=-1)),
        ("FREQ=MONTHLY;BYDAY=2TU", Repeat("monthly", nth=(2, 1))),
        ("FREQ=MONTHLY;BYDAY=-1SU;COUNT=3", Repeat("monthly", nth=(-1, 6), count=3)),
        ("FREQ=MONTHLY;INTERVAL=12", Repeat("monthly", 12)),
    ],
)
def test_what_is_written_plainly_is_written_the_same_again(text, rule):
    assert parse(text) == rule
    assert write(rule) == text


def test_parts_that_say_what_holds_anyway_are_not_written():
    assert write(parse("FREQ=WEEKLY;INTERVAL=1;WKST=MO;BYDAY=WE")) == "FREQ=WEEKLY;BYDAY=WE"
    assert write(parse("FREQ=MONTHLY;BYDAY=+1MO")) == "FREQ=MONTHLY;BYDAY=1MO"


def test_another_first_day_of_the_week_is_taken_where_it_makes_no_difference():
    assert parse("FREQ=WEEKLY;INTERVAL=2;WKST=SU") == Repeat("weekly", 2)
    assert parse("FREQ=WEEKLY;BYDAY=TU,SU;WKST=SU") == Repeat("weekly", weekdays=(1, 6))
    assert refused("FREQ=WEEKLY;INTERVAL=2;BYDAY=TU,SU;WKST=SU").startswith("Weeks begin on Monday here")
    assert refused("FREQ=DAILY;WKST=XX").startswith("Weeks begin on Monday here")


@pytest.mark.parametrize(
    "text, said",
    [
        ("", "Write how it repeats, such as FREQ=WEEKLY;BYDAY=MO"),
        ("   ", "Write how it repeats"),
        ("INTERVAL=2", "Say how often: FREQ=DAILY, FREQ=WEEKLY or FREQ=MONTHLY"),
        ("FREQ=OFTEN", "Say how often"),
        ("FREQ=SECONDLY", "A chore comes once a day at most"),
        ("FREQ=MINUTELY", "A chore comes once a day at most"),
        ("FREQ=HOURLY;INTERVAL=6", "A chore comes once a day at most"),
        ("FREQ=YEARLY", "Write FREQ=MONTHLY;INTERVAL=12 for once a year"),
        ("FREQ=DAILY;INTERVAL=0", "It can repeat every 1 to 366 days, weeks or months, not every 0"),
        ("FREQ=DAILY;INTERVAL=-3", "not every -3"),
        (f"FREQ=DAILY;INTERVAL={'9' * 100}", "not every 999"),
        ("FREQ=DAILY;INTERVAL=1.5", "INTERVAL must be one whole number, such as 2, not “1.5”"),
        ("FREQ=DAILY;INTERVAL=1_0", "INTERVAL must be one whole number"),
        ("FREQ=DAILY;INTERVAL=٣", "INTERVAL must be one whole number"),
        ("FREQ=DAILY;INTERVAL=+", "INTERVAL must be one whole number"),
        ("FREQ=DAILY;COUNT=0", "It can be done 1 to 1000 times, not 0"),
        ("FREQ=DAILY;COUNT=1001", "It can be done 1 to 1000 times, not 1001"),
        ("FREQ=DAILY;COUNT=5;UNTIL=20310504", "Say either the last day or how many times, not both"),
        ("FREQ=DAILY;UNTIL=20310504T120000Z", "UNTIL is a day without a time, such as 20310504"),
        ("FREQ=DAILY;UNTIL=2031-05-04", "UNTIL is a day without a time"),
        ("FREQ=DAILY;UNTIL=20310229", "UNTIL is a day without a time"),
        ("FREQ=DAILY;UNTIL=00000101", "UNTIL is a day without a time"),
        ("FREQ=DAILY;BYSETPOS=1", "BYSETPOS is not used here; use FREQ, INTERVAL, BYDAY"),
        ("FREQ=DAILY;BYMONTH=1", "BYMONTH is not used here"),
        ("FREQ=DAILY;X-MOON=FULL", "X-MOON is not used here"),
        ("FREQ=DAILY;FREQ=WEEKLY", "FREQ stands there twice"),
        ("FREQ=DAILY;COUNT", "“COUNT” is not a name and a value, such as INTERVAL=2"),
        ("FREQ=DAILY;COUNT=", "“COUNT=” is not a name and a value"),
        ("FREQ=DAILY;", "“” is not a name and a value"),
        ("FREQ=DAILY;BYDAY=MO", "Some days of every week are FREQ=WEEKLY with BYDAY"),
        ("FREQ=WEEKLY;BYDAY=MO,XX", "not “XX”"),
        ("FREQ=WEEKLY;BYDAY=MO,,TU", "not “”"),
        ("FREQ=WEEKLY;BYDAY=2MO", "not “2MO”"),
        ("FREQ=WEEKLY;BYMONTHDAY=3", "Only what repeats by months takes a day of the month"),
        ("FREQ=MONTHLY;BYDAY=MO", "Of a month, BYDAY is one weekday with its number, such as 2TU"),
        ("FREQ=MONTHLY;BYDAY=1MO,3MO", "Of a month, BYDAY is one weekday"),
        ("FREQ=MONTHLY;BYDAY=1XX", "Of a month, BYDAY is one weekday"),
        ("FREQ=MONTHLY;BYDAY=5MO", "not every month has a fifth"),
        ("FREQ=MONTHLY;BYDAY=-2MO", "the first to the fourth, or the last"),
        ("FREQ=MONTHLY;BYDAY=0MO", "the first to the fourth, or the last"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "A day of the month is 1 to 31, or -1 for the last one, not 32"),
        ("FREQ=MONTHLY;BYMONTHDAY=-2", "A day of the month is 1 to 31, or -1"),
        ("FREQ=MONTHLY;BYMONTHDAY=0", "A day of the month is 1 to 31, or -1"),
        (
            "FREQ=MONTHLY;BYMONTHDAY=1,15",
            "BYMONTHDAY must be one whole number, such as 15, or -1 for the last day",
        ),
        ("FREQ=MONTHLY;BYMONTHDAY=1;BYDAY=1MO", "Say either a day of the month or a weekday of it, not both"),
    ],
)
def test_what_cannot_be_is_refused_with_what_would_be_right(text, said):
    assert said in refused(text)


def test_a_text_that_is_too_long_is_refused_unread():
    assert refused("FREQ=DAILY" + " " * TEXT_MOST) == "A rule has at most 200 characters, this one has 210"
    assert parse("FREQ=DAILY".ljust(TEXT_MOST)) == Repeat("daily")


def test_with_a_start_a_rule_without_days_is_refused_too():
    assert parse("FREQ=DAILY;UNTIL=20310504", date(2031, 5, 4)).until == date(2031, 5, 4)
    assert refused("FREQ=DAILY;UNTIL=20310504", start=date(2031, 5, 5)).startswith("The last day is before")
    assert refused("FREQ=MONTHLY;INTERVAL=12;BYMONTHDAY=31", start=date(2031, 6, 1)).startswith(
        "No such day ever"
    )


@pytest.mark.parametrize(
    "fields",
    [
        {"freq": "yearly"},
        {"freq": "daily", "interval": INTERVAL_MOST + 1},
        {"freq": "daily", "count": COUNT_MOST + 1},
        {"freq": "daily", "weekdays": (0,)},
        {"freq": "weekly", "weekdays": (7,)},
        {"freq": "weekly", "nth": (1, 0)},
        {"freq": "monthly", "nth": (1, 7)},
        {"freq": "monthly", "monthday": 0},
    ],
    ids=str,
)
def test_a_rule_made_by_hand_is_held_to_the_same_limits(fields):
    with pytest.raises(RepeatError):
        Repeat(**fields)


@pytest.mark.parametrize(
    "text, said",
    [
        ("FREQ=DAILY", "every day"),
        ("FREQ=DAILY;INTERVAL=3", "every 3 days"),
        ("FREQ=DAILY;COUNT=1", "every day, 1 time"),
        ("FREQ=WEEKLY", "every week"),
        ("FREQ=WEEKLY;BYDAY=WE", "every week on Wednesday"),
        ("FREQ=WEEKLY;BYDAY=FR,MO,WE;COUNT=6", "every week on Monday, Wednesday and Friday, 6 times"),
        (
            "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH;UNTIL=20310504",
            "every 2 weeks on Monday and Thursday, until 4 May 2031",
        ),
        ("FREQ=MONTHLY", "every month"),
        ("FREQ=MONTHLY;INTERVAL=2;BYMONTHDAY=15", "every 2 months on day 15"),
        ("FREQ=MONTHLY;BYMONTHDAY=31", "every month that has a day 31, on that day"),
        ("FREQ=MONTHLY;INTERVAL=2;BYMONTHDAY=30", "every 2 months on day 30, where the month has one"),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", "every month on its last day"),
        ("FREQ=MONTHLY;INTERVAL=6;BYMONTHDAY=-1", "every 6 months on the month's last day"),
        ("FREQ=MONTHLY;BYDAY=1MO", "every month on the first Monday"),
        ("FREQ=MONTHLY;INTERVAL=3;BYDAY=-1SU", "every 3 months on the last Sunday"),
    ],
)
def test_a_rule_is_said_as_a_keeper_would_say_it(text, said):
    assert str(in_words(parse(text))) == said
