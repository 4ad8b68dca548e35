"""A daily weather record from a table: what is read, what is said by row, what is asked, and gaps that stay gaps."""

from datetime import date, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from farm.husbandry import weather_rows
from farm.husbandry.weather_record import Answers, DayRecord, read

FIRST = date(2024, 5, 1)


def table(*rows, head="date,min,max"):
    return "\n".join((head, *rows))


def said(found):
    """Return (row, field, text) of each problem."""
    return [(problem.row, problem.field, str(problem.text)) for problem in found.problems]


def asked(found):
    return [question.about for question in found.questions]


ONE = (DayRecord(FIRST, 8.5, 19.0),)


@pytest.mark.parametrize(
    "text",
    [
        table("2024-05-01,8.5,19"),
        table("2024-05-01;8,5;19,0", head="Day;Tmin (°C);Tmax (°C)"),
        table("1.5.2024\t8,5\t19", head="date\tlow\thigh"),
        table("01. 05. 2024;8,5;19", head="Datum;min;max"),
        table('2024-05-01,"8,5","19"'),
        table("20240501,8.5,19"),
        table("2024-05-01T00:00,8.5,19", head="time,temperature_2m_min (°C),temperature_2m_max (°C)"),
        table("2024/5/1, 8.5 °C , +19"),
        table("2024-05-01,47.3 °F,19 C"),
        table("2024-05-01,47.3,66.2", head="date,tmin_f,tmax_f"),
        table("2024-05-01,19,8.5", head="date,max,min"),
        table("x,2024-05-01,3.2,19,8.5,rain", head="station,date,wind_max,temp_max,temp_min,weather"),
        table("2024-05-01,8.5,19,", "", ",,,"),
        "\ufeff" + table("2024-05-01,8.5,19").replace("\n", "\r\n"),
        "2024-05-01;8,5;19\n",
        "2024-05-01,8.5,19",
        "latitude,longitude\n52.5,13.4\n\n" + table("2024-05-01,8.5,19"),
    ],
)
def test_a_day_is_read_however_it_is_written(text):
    found = read(text)
    assert found.problems == found.questions == ()
    assert [(day.day, round(day.low_c, 6), round(day.high_c, 6)) for day in found.days] == [(FIRST, 8.5, 19)]


@pytest.mark.parametrize("blank", ["", "-", "NA", "NaN", "null", "-9999", " "])
def test_a_blank_cell_is_a_gap(blank):
    assert read(table(f"2024-05-01,{blank},19")).days == (DayRecord(FIRST, None, 19.0),)
    assert read(table(f"2024-05-01,8.5,{blank}")).days == (DayRecord(FIRST, 8.5, None),)
    assert read(table(f"2024-05-01,{blank},{blank}")).days == (DayRecord(FIRST, None, None),)


@pytest.mark.parametrize(
    "row, field, text",
    [
        ("2024-02-31,1,2", "day", "no such day as “2024-02-31”"),
        ("2023-02-29,1,2", "day", "no such day"),
        ("31.2.2024,1,2", "day", "no such day"),
        ("2024-13-01,1,2", "day", "no such day"),
        ("05-01,1,2", "day", "“05-01” has no year"),
        ("1 May,1,2", "day", "has no year"),
        ("1024-05-01,1,2", "day", "year"),
        ("soon,1,2", "day", "“soon” is not a day"),
        ("=A1,1,2", "day", "not a day"),
        ("2024-05-01,cold,19", "low", "“cold” is not a temperature"),
        ("2024-05-01,1,1e3", "high", "not a temperature"),
        ("2024-05-01,1,0x10", "high", "not a temperature"),
        ("2024-05-01,٣,19", "low", "not a temperature"),
        ("2024-05-01,1," + "9" * 30, "high", "not a temperature"),
        ("2024-05-01,-91,19", "low", "-91.0 °C cannot be right"),
        ("2024-05-01,8,57.1", "high", "57.1 °C cannot be right"),
        ("2024-05-01,19,8", "", "above the highest"),
        ("2024-05-01,8,5,19,0", "", "more cells than there are columns"),
        ("2024-05-01", "", "too few cells"),
        ("2024-05-02,8,19", "day", "still to come"),
    ],
)
def test_a_row_that_cannot_be_right_is_named_and_the_others_are_kept(row, field, text):
    found = read(table("2024-04-29,4,12", row, "2024-04-30,5,13"), today=FIRST)
    assert [day.day.day for day in found.days] == [29, 30]
    [(number, where, why)] = said(found)
    assert (number, where) == (3, field)
    assert text in why


def test_rows_are_numbered_by_their_line_in_the_text():
    found = read("\n\n" + table("", "2024-05-01,a,19", '2024-05-02,"b\n",3', "2024-05-03,c,3"))
    assert [problem.row for problem in found.problems] == [5, 7, 8]


def test_the_same_day_twice_is_kept_once_if_it_says_the_same():
    found = read(table("2024-05-01,8.5,19", "1.5.2024,8.5,19.0"))
    assert (found.days, found.problems) == (ONE, ())


def test_the_same_day_with_other_temperatures_is_said_with_the_row_it_contradicts():
    found = read(table("2024-05-01,8.5,19", "2024-05-02,3,9", "2024-05-01,8.5,20"))
    assert found.days[0] == ONE[0]
    assert said(found) == [(4, "day", "Row 2 has the same day with other temperatures.")]


def test_a_gap_is_filled_from_the_same_day_further_down():
    assert read(table("2024-05-01,,19", "2024-05-01,8.5,")).days == ONE


def test_a_gap_is_not_filled_with_what_cannot_be():
    found = read(table("2024-05-01,,19", "2024-05-01,20,"))
    assert found.days == (DayRecord(FIRST, None, 19.0),)
    assert [problem.row for problem in found.problems] == [3]


def summer(count=60, low=60, high=85):
    return [f"{FIRST + timedelta(days=i)},{low + i % 7},{high + i % 5}" for i in range(count)]


def test_fahrenheit_in_a_celsius_column_is_asked_and_nothing_taken_until_it_is_answered():
    for head in ("date,min,max", "date,min (°C),max (°C)"):
        found = read(table(*summer(), head=head))
        assert asked(found) == ["unit"]
        assert found.days == found.problems == ()
    taken = read(table(*summer()), Answers(unit="F"))
    assert taken.questions == ()
    assert taken.days[0].low_c == pytest.approx((60 - 32) * 5 / 9)


def test_told_that_it_is_celsius_after_all_rows_beyond_any_weather_are_refused():
    found = read(table(*summer(3)), Answers(unit="C"))
    assert found.days == ()
    assert [problem.row for problem in found.problems] == [2, 3, 4]


def test_a_column_that_names_fahrenheit_is_not_asked():
    assert asked(read(table(*summer(), head="date,min (F),max (F)"))) == []
    assert asked(read(table(*summer()), unit="F")) == []


def test_celsius_in_a_fahrenheit_column_is_asked():
    assert asked(read(table(*summer(low=10, high=20)), unit="F")) == ["unit"]
    assert asked(read(table(*summer(low=10, high=20), head="day,low_f,high_f"))) == ["unit"]


def test_swapped_columns_are_asked_once_and_put_right():
    rows = [f"{FIRST + timedelta(days=i)},{20 + i % 3},{8 + i % 2}" for i in range(9)]
    found = read(table(*rows))
    assert asked(found) == ["swapped"]
    assert found.days == found.problems == ()
    right = read(table(*rows), Answers(swapped=True))
    assert (right.questions, right.problems) == ((), ())
    assert right.days[0] == DayRecord(FIRST, 8.0, 20.0)
    assert len(read(table(*rows), Answers(swapped=False)).problems) == 9


def test_a_few_swapped_rows_are_problems_of_their_own():
    rows = ["2024-05-01,8,19", "2024-05-02,19,8", "2024-05-03,8,19"]
    found = read(table(*rows))
    assert found.questions == ()
    assert [problem.row for problem in found.problems] == [3]


@pytest.mark.parametrize(
    "rows, first",
    [
        (["04/05/2024,1,2", "13/05/2024,1,2"], date(2024, 5, 4)),
        (["04/05/2024,1,2", "05/13/2024,1,2"], date(2024, 4, 5)),
        (["04-05-2024,1,2", "31-05-2024,1,2"], date(2024, 5, 4)),
    ],
)
def test_the_order_of_day_and_month_is_told_by_dates_that_read_one_way(rows, first):
    found = read(table(*rows))
    assert (found.questions, found.problems) == ((), ())
    assert min(day.day for day in found.days) == first


def test_dates_that_can_all_be_read_two_ways_are_asked():
    text = table("05/05/2024,1,2", "04/05/2024,1,2")
    found = read(text)
    assert asked(found) == ["order"]
    assert "04/05/2024" in str(found.questions[0].text)
    assert read(text, Answers(day_first=True)).days[0].day == date(2024, 5, 4)
    assert read(text, Answers(day_first=False)).days[0].day == date(2024, 4, 5)


def test_dates_that_are_the_same_both_ways_are_not_asked():
    assert read(table("05/05/2024,1,2")).days[0].day == date(2024, 5, 5)


def test_a_row_in_the_other_order_is_a_problem_of_its_own():
    found = read(table("13/05/2024,1,2", "14/05/2024,1,2", "05/15/2024,1,2"))
    assert [(problem.row, problem.field) for problem in found.problems] == [(4, "day")]


def test_missing_years_and_days_are_told():
    found = read(table("2019-12-31,1,2", "2022-01-01,1,2"))
    assert [str(note) for note in found.notes] == [
        "2020 has no day in it.",
        "2021 has no day in it.",
        "731 days between the first and the last are missing; they stay gaps.",
    ]
    assert [str(note) for note in read(table("2024-05-01,1,2", "2024-05-03,1,2")).notes] == [
        "1 day between the first and the last is missing; it stays a gap."
    ]
    assert read(table("2024-05-01,1,2", "2024-05-02,1,2")).notes == ()


@pytest.mark.parametrize(
    "text, why",
    [
        ("", "nothing in it"),
        (" \n\t\n", "nothing in it"),
        ("hello", "Name three columns"),
        ("date,min\n2024-05-01,3", "Name three columns"),
        ("date,temperature\n2024-05-01,3", "Name three columns"),
        ("2024-05-01,3", "Name three columns"),
        ("date,min,max", "no day below"),
        ('date,min,max\n"' + "x" * 140_000, "cannot be read"),
    ],
)
def test_a_text_that_is_no_record_is_refused_as_a_whole(text, why):
    found = read(text)
    assert found.days == ()
    assert len(found.problems) == 1
    assert why in str(found.problems[0].text)


def test_more_rows_than_a_record_may_have_are_refused_without_reading_on():
    rows = "".join(f"2024-05-01,{i % 9},20\n" for i in range(weather_rows.MOST_ROWS + 5))
    [problem] = read("date,min,max\n" + rows + '"broken').problems
    assert (problem.row, str(problem.text)) == (0, "A record may have 50000 rows at most: part the file.")


def test_as_many_rows_as_a_record_may_have_are_read():
    days = [FIRST - timedelta(days=i) for i in range(weather_rows.MOST_ROWS - 1)]
    found = read(table(*(f"{day},1,20" for day in days)))
    assert len(found.days) == len(days)
    assert found.problems == ()


temps = st.integers(-300, 330).map(lambda tenths: tenths / 10)
records = st.dictionaries(
    st.dates(date(1950, 1, 1), date(2050, 12, 31)),
    st.tuples(temps, temps).map(sorted),
    min_size=1,
    max_size=40,
)


@given(days=records, mark=st.sampled_from([",", ";", "\t"]), style=st.sampled_from(["iso", "points"]))
def test_what_is_written_is_read_again(days, mark, style):
    lines = [mark.join(("date", "min", "max"))]
    for day, (low, high) in days.items():
        typed = day.isoformat() if style == "iso" else f"{day.day}.{day.month}.{day.year}"
        numbers = [str(low), str(high)] if mark == "," else [str(x).replace(".", ",") for x in (low, high)]
        lines.append(mark.join((typed, *numbers)))
    found = read("\n".join(lines))
    assert (found.problems, found.questions) == ((), ())
    assert found.days == tuple(DayRecord(day, *days[day]) for day in sorted(days))


cell = st.one_of(
    st.sampled_from(["2024-05-01", "3/4/2024", "8", "-3,5", "90 F", "", '"', "x"]), st.text(max_size=6)
)


@example("date,min,max\n\x00,1,2")
@example("date,min,max\n2024-05-01,\ud800,2")
@given(
    st.one_of(
        st.text(max_size=200),
        st.lists(st.lists(cell, max_size=5).map(",".join), max_size=8).map(lambda rows: table(*rows)),
    )
)
def test_no_text_makes_it_fall_over_and_days_that_come_out_can_be(text):
    found = read(text)
    assert len({day.day for day in found.days}) == len(found.days)
    for day in found.days:
        both = [temp for temp in (day.low_c, day.high_c) if temp is not None]
        assert all(-90 <= temp <= 57 for temp in both)
        assert both == sorted(both)
    if found.questions:
        assert found.days == ()
