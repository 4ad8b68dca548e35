"""Which days the board shows: chosen by plain links, and never by a slip of the hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from farm.planning.window import Window

WEEKS = (2, 6, 12, 26)
USUAL = 12
_FARTHEST_DAYS = 10 * 366

#: Drawing units a day has: about a thousand across, and no narrower than a finger can tell a week.
DAY_WIDTH = {2: 78.0, 6: 26.0, 12: 13.0, 26: 8.0}


@dataclass(frozen=True, slots=True)
class Choice:
    """The chosen days, and where earlier and later ones begin. `home` is where the board opens by itself."""

    start: date
    weeks: int
    home: date

    @property
    def window(self) -> Window:
        """Return the days shown."""
        return Window(self.start, self.weeks * 7)

    @property
    def day_width(self) -> float:
        """Return the drawing units of a day."""
        return DAY_WIDTH[self.weeks]

    @property
    def last(self) -> date:
        """Return the last day shown."""
        return self.window.end - timedelta(days=1)

    @property
    def earlier(self) -> date:
        """Return the first day of the weeks before."""
        return self.start - timedelta(weeks=self.weeks)

    @property
    def later(self) -> date:
        """Return the first day of the weeks after."""
        return self.window.end

    @property
    def is_home(self) -> bool:
        """Say whether the board is where it opens by itself."""
        return self.start == self.home


def choose(asked: Mapping[str, str], today: date, first_weekday: int) -> Choice:
    """Return the choice of a page's `from` (ISO day) and `weeks`; what cannot be read falls back to the usual.

    The board opens a week before this week begins, so that what just happened is still seen; two weeks alone begin with
    this one, so that today is in sight on a phone.
    """
    weeks = {str(number): number for number in WEEKS}.get(asked.get("weeks", ""), USUAL)
    home = week_start(today, first_weekday) - timedelta(weeks=1 if weeks > min(WEEKS) else 0)
    start = _day(asked.get("from", "")) or home
    if abs((start - today).days) > _FARTHEST_DAYS:
        start = home
    return Choice(start, weeks, home)


def week_start(day: date, first_weekday: int) -> date:
    """Return the first day of the week `day` is in; first_weekday 0 is Monday."""
    return day - timedelta(days=(day.weekday() - first_weekday) % 7)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
