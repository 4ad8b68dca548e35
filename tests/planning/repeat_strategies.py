"""Rules, starts and windows of every kind, and a judge that tries each day by itself."""

from calendar import monthrange
from datetime import date, timedelta

from hypothesis import strategies as st

from farm.planning.repeats import Repeat
from farm.planning.window import Window

starts = st.dates(date(1996, 1, 1), date(2031, 12, 31))
small = st.integers(1, 7)


@st.composite
def rules(draw, begin=None, intervals=small):
    """A rule whose last day, where it has one, is not before `begin`."""
    freq = draw(st.sampled_from(["daily", "weekly", "monthly"]))
    fields = {"freq": freq, "interval": draw(intervals)}
    if freq == "weekly":
        fields["weekdays"] = tuple(draw(st.sets(st.integers(0, 6), max_size=7)))
    if freq == "monthly":
        kind = draw(st.sampled_from(["as begun", "monthday", "nth"]))
        if kind == "monthday":
            fields["monthday"] = draw(st.integers(1, 31) | st.just(-1))
        if kind == "nth":
            fields["nth"] = (draw(st.sampled_from([1, 2, 3, 4, -1])), draw(st.integers(0, 6)))
    end = draw(st.sampled_from(["never", "until", "count"]))
    if end == "until":
        fields["until"] = (begin or date(1996, 1, 1)) + timedelta(days=draw(st.integers(0, 1500)))
    if end == "count":
        fields["count"] = draw(st.integers(1, 60))
    return Repeat(**fields)


@st.composite
def begun(draw, intervals=small):
    """A start, a rule from it, and a window somewhere near."""
    start = draw(starts)
    rule = draw(rules(begin=start, intervals=intervals))
    window = Window(start + timedelta(days=draw(st.integers(-60, 1500))), draw(st.integers(1, 400)))
    return start, rule, window


def tried(rule, start, window, exceptions=frozenset()):
    """The days of the window that fit, found by asking of every day since the start whether it fits."""
    found, number, day = [], 0, start
    while day < window.end:
        if fits(rule, start, day):
            number += 1
            over = (rule.count is not None and number > rule.count) or (
                rule.until is not None and day > rule.until
            )
            if over:
                break
            if day >= window.start and day not in exceptions:
                found.append(day)
        day += timedelta(days=1)
    return tuple(found)


def fits(rule, start, day):
    if rule.freq == "daily":
        return (day - start).days % rule.interval == 0
    if rule.freq == "weekly":
        monday, first = (d - timedelta(days=d.weekday()) for d in (day, start))
        asked = rule.weekdays or (start.weekday(),)
        return (monday - first).days // 7 % rule.interval == 0 and day.weekday() in asked
    months = (day.year - start.year) * 12 + day.month - start.month
    return months % rule.interval == 0 and fits_month(rule, start, day)


def fits_month(rule, start, day):
    last = monthrange(day.year, day.month)[1]
    if rule.nth is not None:
        n, weekday = rule.nth
        if day.weekday() != weekday:
            return False
        return day.day > last - 7 if n == -1 else (day.day - 1) // 7 + 1 == n
    return day.day == (last if rule.monthday == -1 else rule.monthday or start.day)
