"""Rules in words: "every 2 weeks on Monday and Thursday, until 4 May 2031"."""

from __future__ import annotations

from collections.abc import Sequence

from farm.phrase import N_, Phrase, Value
from farm.planning.repeats.rule import Repeat

WEEKDAYS = (
    *(N_("Monday"), N_("Tuesday"), N_("Wednesday"), N_("Thursday"), N_("Friday")),
    *(N_("Saturday"), N_("Sunday")),
)
_NTH = {
    1: (N_("every month on the first %(day)s"), N_("every %(n)d months on the first %(day)s")),
    2: (N_("every month on the second %(day)s"), N_("every %(n)d months on the second %(day)s")),
    3: (N_("every month on the third %(day)s"), N_("every %(n)d months on the third %(day)s")),
    4: (N_("every month on the fourth %(day)s"), N_("every %(n)d months on the fourth %(day)s")),
    -1: (N_("every month on the last %(day)s"), N_("every %(n)d months on the last %(day)s")),
}


def in_words(repeat: Repeat) -> Phrase:
    """Return the rule as a keeper would say it; where a start decides the day, the day is left out."""
    rule = _rule(repeat)
    if repeat.until is not None:
        return Phrase(
            N_("%(rule)s, until %(day)s %(year)d"),
            {"rule": rule, "day": repeat.until, "year": repeat.until.year},
        )
    if repeat.count is not None:
        return Phrase(
            N_("%(rule)s, %(count)d time"),
            {"rule": rule, "count": repeat.count},
            N_("%(rule)s, %(count)d times"),
            "count",
        )
    return rule


def _rule(repeat: Repeat) -> Phrase:
    if repeat.freq == "daily":
        return _every(repeat, N_("every day"), N_("every %(n)d days"))
    if repeat.freq == "weekly":
        if not repeat.weekdays:
            return _every(repeat, N_("every week"), N_("every %(n)d weeks"))
        names = [Phrase(WEEKDAYS[day]) for day in repeat.weekdays]
        return _every(repeat, N_("every week on %(day)s"), N_("every %(n)d weeks on %(day)s"), _listed(names))
    return _monthly(repeat)


def _monthly(repeat: Repeat) -> Phrase:
    if repeat.nth is not None:
        return _every(repeat, *_NTH[repeat.nth[0]], Phrase(WEEKDAYS[repeat.nth[1]]))
    if repeat.monthday is None:
        return _every(repeat, N_("every month"), N_("every %(n)d months"))
    if repeat.monthday == -1:
        return _every(
            repeat, N_("every month on its last day"), N_("every %(n)d months on the month's last day")
        )
    if repeat.monthday > 28:
        return _every(
            repeat,
            N_("every month that has a day %(day)d, on that day"),
            N_("every %(n)d months on day %(day)d, where the month has one"),
            repeat.monthday,
        )
    return _every(
        repeat, N_("every month on day %(day)d"), N_("every %(n)d months on day %(day)d"), repeat.monthday
    )


def _every(repeat: Repeat, one: str, many: str, day: Value = "") -> Phrase:
    return Phrase(one, {"n": repeat.interval, "day": day}, many, "n")


def _listed(names: Sequence[Phrase]) -> Phrase:
    """Return "Monday", "Monday and Thursday", "Monday, Tuesday and Thursday"."""
    *before, last = names
    if not before:
        return last
    joined = before[0]
    for name in before[1:]:
        joined = Phrase(N_("%(first)s, %(next)s"), {"first": joined, "next": name})
    return Phrase(N_("%(first)s and %(others)s"), {"first": joined, "others": last})
