"""One rule of repeating, and what is wrong with those that can't be used."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from farm.phrase import N_, Phrase, Value

Freq = Literal["daily", "weekly", "monthly"]
FREQS: tuple[Freq, ...] = ("daily", "weekly", "monthly")
INTERVAL_MOST = 366  # days, weeks or months: project default (judgement)
COUNT_MOST = 1000  # times: project default (judgement)
TEXT_MOST = 200  # characters of a written rule: project default (judgement)


class RepeatError(ValueError):
    """A rule that can't be used; `phrase` says what is wrong and what would be right."""

    def __init__(self, text: str, **values: Value) -> None:
        self.phrase = Phrase(text, values)
        super().__init__(str(self.phrase))


@dataclass(frozen=True, slots=True)
class Repeat:
    """Every `interval` days, weeks or months.

    weekdays: of a weekly rule, Monday 0, kept sorted; none means the weekday of the start. monthday: of a monthly rule,
    1 to 31 or -1 for the last day; nth instead: (1 to 4 or -1 for the last, weekday); neither means the start's day of
    the month. until: the last day it may fall on, None for no end. count: how many times instead, days that are left
    out counted too. Raises RepeatError for what can't be.
    """

    freq: Freq
    interval: int = 1
    weekdays: tuple[int, ...] = ()
    monthday: int | None = None
    nth: tuple[int, int] | None = None
    until: date | None = None
    count: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "weekdays", tuple(sorted(set(self.weekdays))))
        if self.freq not in FREQS:
            raise RepeatError(
                N_("%(freq)s is not a way to repeat: use daily, weekly or monthly"), freq=self.freq
            )
        if not 1 <= self.interval <= INTERVAL_MOST:
            raise RepeatError(
                N_("It can repeat every 1 to %(most)d days, weeks or months, not every %(interval)d"),
                most=INTERVAL_MOST,
                interval=self.interval,
            )
        self._check_days()
        self._check_end()

    def _check_days(self) -> None:
        if self.weekdays and self.freq != "weekly":
            raise RepeatError(N_("Only what repeats by weeks takes a list of weekdays"))
        if not all(0 <= day <= 6 for day in self.weekdays):
            raise RepeatError(N_("Weekdays go from 0, Monday, to 6, Sunday"))
        if self.freq != "monthly" and (self.monthday is not None or self.nth is not None):
            raise RepeatError(N_("Only what repeats by months takes a day of the month"))
        if self.monthday is not None and self.nth is not None:
            raise RepeatError(N_("Say either a day of the month or a weekday of it, not both"))
        if self.monthday is not None and self.monthday != -1 and not 1 <= self.monthday <= 31:
            raise RepeatError(
                N_("A day of the month is 1 to 31, or -1 for the last one, not %(day)d"), day=self.monthday
            )
        if self.nth is not None and (self.nth[0] not in (1, 2, 3, 4, -1) or not 0 <= self.nth[1] <= 6):
            raise RepeatError(
                N_(
                    "A weekday of the month is the first to the fourth, or the last: not every month has a fifth"
                )
            )

    def _check_end(self) -> None:
        if self.until is not None and self.count is not None:
            raise RepeatError(N_("Say either the last day or how many times, not both"))
        if self.count is not None and not 1 <= self.count <= COUNT_MOST:
            raise RepeatError(
                N_("It can be done 1 to %(most)d times, not %(count)d; leave it out for no end"),
                most=COUNT_MOST,
                count=self.count,
            )
