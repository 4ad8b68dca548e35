"""Alarms about losses: one for each time they leave the ordinary, not one a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from farm.husbandry import binomial
from farm.husbandry.advice.losses import Chart, least
from farm.phrase import N_, Phrase, Value
from farm.trade.general import figure

#: Cautions to be shown beside an alarm.
CAUTIONS = ("bird_flu", "hygiene")
SO_FAR, ON_ONE_DAY, WORSE = "so far", "on one day", "worse"


@dataclass(frozen=True, slots=True)
class Alarm:
    """Losses out of the ordinary on a day of age.

    kind: SO_FAR, ON_ONE_DAY, or WORSE after an earlier alarm. lost, usual: of the days the kind speaks of (for WORSE,
    those since the alarm, or since it was over). lost_so_far: in all. birds: that came and did not leave alive.
    """

    age_days: int
    kind: str
    lost: int
    usual: int
    lost_so_far: int
    birds: int

    def words(self, hatch_day: date) -> Phrase:
        """Return the alarm as a sentence, with what to do."""
        values: dict[str, Value] = {
            "lost": self.lost,
            "usual": self.usual,
            "birds": self.birds,
            "all": self.lost_so_far,
            "day": hatch_day + timedelta(days=self.age_days),
        }
        return Phrase(_TEXTS[self.kind], values)


_TEXTS = {
    SO_FAR: N_(
        "%(lost)d of %(birds)d lost by %(day)s; up to %(usual)d is ordinary at that age."
        " Look at warmth, water, draught and damp now, and ask your vet."
    ),
    ON_ONE_DAY: N_(
        "%(lost)d lost on %(day)s; up to %(usual)d in one day is ordinary at that age."
        " Look at warmth, water and predators now, and ask your vet: sudden deaths may have to be reported."
    ),
    WORSE: N_(
        "%(lost)d more lost by %(day)s, %(all)d in all; since the last alarm up to %(usual)d would be ordinary."
        " Ask your vet today."
    ),
}


def alarms(chart: Chart, lost: Sequence[int]) -> tuple[Alarm, ...]:
    """Return every alarm of a rearing so far.

    lost: birds lost on each day, the first being chart.first_age; it may end before the chart does. After an alarm
    the next is given only when all losses have doubled and are out of the ordinary since, so that an outbreak cries a
    few times and not daily. An alarm is over once losses so far are as low as chart.calm again, or a week's were
    ordinary: then losses count anew. Raises ValueError for more days than the chart has, or losses below 0.
    """
    if len(lost) > len(chart.base) or any(dead < 0 for dead in lost):
        raise ValueError("lost must not be longer than the chart, nor below 0")
    watch = _Watch(chart, np.cumsum(np.asarray(lost, dtype=np.int64)))
    return tuple(alarm for day in range(len(lost)) if (alarm := watch.look(day)))


class _Watch:
    """One rearing being watched, day by day.

    since: the day after which losses count, None before any alarm. out: an alarm was given and is not over.
    """

    def __init__(self, chart: Chart, so_far: NDArray[np.int64]) -> None:
        self.chart, self.so_far = chart, so_far
        self.since: int | None = None
        self.out = False

    def look(self, day: int) -> Alarm | None:
        """Return the alarm of a day, if there is one; days must be looked at in turn."""
        alarm = self._first(day) if self.since is None else self._again(day, self.since)
        if alarm:
            self.since, self.out = day, True
        elif self.so_far[day] <= self.chart.calm[day]:
            self.since, self.out = None, False
        elif self.out and self._quiet_week(day):
            self.since, self.out = day, False
        return alarm

    def _first(self, day: int) -> Alarm | None:
        if self.so_far[day] > self.chart.most[day]:
            return self._alarm(day, SO_FAR, int(self.so_far[day]), int(self.chart.most[day]))
        return self._sudden(day)

    def _again(self, day: int, since: int) -> Alarm | None:
        if self.out and self.so_far[day] < figure("losses", "worse_times") * self.so_far[since]:
            return None
        lost = int(self.so_far[day] - self.so_far[since])
        usual = max(self._ordinary(since, day, 1 - self.chart.tail), least() - 1)
        worse = self._alarm(day, WORSE, lost, usual) if lost > usual else None
        return worse if self.out else self._sudden(day) or worse

    def _sudden(self, day: int) -> Alarm | None:
        dead = int(self.so_far[day] - (self.so_far[day - 1] if day else 0))
        usual = int(self.chart.most_a_day[day])
        return self._alarm(day, ON_ONE_DAY, dead, usual) if dead > usual else None

    def _quiet_week(self, day: int) -> bool:
        start = day - int(figure("losses", "rearm_days"))
        if self.since is None or start < self.since:
            return False
        calm = self._ordinary(start, day, figure("losses", "rearm_probability"))
        return bool(self.so_far[day] - self.so_far[start] <= calm)

    def _ordinary(self, since: int, day: int, q: float) -> int:
        """Return the losses after day `since` until `day` that are not exceeded with chance q."""
        kept = float(np.prod(1 - self.chart.chances[since + 1 : day + 1]))
        birds = int(self.chart.base[since + 1 : day + 1].max() - self.so_far[since])
        return binomial.quantile(max(birds, 0), 1 - kept, q)

    def _alarm(self, day: int, kind: str, lost: int, usual: int) -> Alarm:
        chart = self.chart
        return Alarm(chart.first_age + day, kind, lost, usual, int(self.so_far[day]), int(chart.base[day]))
