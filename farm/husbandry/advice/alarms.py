"""Alarms about losses: one for each time they leave the ordinary, not one a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.husbandry import binomial
from farm.husbandry.advice.losses import Chart, least
from farm.phrase import N_, Phrase, Value

#: Cautions to be shown beside an alarm.
CAUTIONS = ("bird_flu", "hygiene")
SO_FAR, ON_ONE_DAY, WORSE = "so far", "on one day", "worse"


@dataclass(frozen=True, slots=True)
class Alarm:
    """Losses out of the ordinary on a day of age.

    kind: SO_FAR, ON_ONE_DAY, or WORSE while an earlier alarm is not over. lost, usual: of the days the kind speaks of
    (for WORSE, since the alarm before). lost_so_far: in all. birds: that came and did not leave alive.
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
        "%(lost)d more lost by %(day)s, %(all)d in all, though an alarm was given: up to %(usual)d would be ordinary"
        " since then. Ask your vet today."
    ),
}


def alarms(chart: Chart, lost: Sequence[int]) -> tuple[Alarm, ...]:
    """Return every alarm of a rearing so far.

    lost: birds lost on each day, the first being chart.first_age; it may end before the chart does. After an alarm
    there is none until losses so far are as low as chart.calm again, except when those since the last alarm are by
    themselves clearly more than chance explains. Raises ValueError for more days than the chart has, or losses below 0.
    """
    if len(lost) > len(chart.base) or any(dead < 0 for dead in lost):
        raise ValueError("lost must not be longer than the chart, nor below 0")
    found: list[Alarm] = []
    so_far, out_since, at_alarm = 0, None, 0
    for day, dead in enumerate(lost):
        so_far += dead
        if out_since is None:
            alarm = _new(chart, day, dead, so_far)
        else:
            alarm = _worse(chart, out_since, day, so_far - at_alarm, so_far)
        if alarm:
            found.append(alarm)
            out_since, at_alarm = day, so_far
        elif so_far <= chart.calm[day]:
            out_since = None
    return tuple(found)


def _new(chart: Chart, day: int, dead: int, so_far: int) -> Alarm | None:
    age, birds = chart.first_age + day, int(chart.base[day])
    if so_far > chart.most[day]:
        return Alarm(age, SO_FAR, so_far, int(chart.most[day]), so_far, birds)
    if dead > chart.most_a_day[day]:
        return Alarm(age, ON_ONE_DAY, dead, int(chart.most_a_day[day]), so_far, birds)
    return None


def _worse(chart: Chart, since: int, day: int, more: int, so_far: int) -> Alarm | None:
    """Return an alarm where losses after day `since` are by themselves out of the ordinary."""
    kept = 1.0
    for chance in chart.chances[since + 1 : day + 1]:
        kept *= 1 - float(chance)
    birds = max(int(chart.base[since + 1 : day + 1].max()) - (so_far - more), 0)
    usual = max(binomial.quantile(birds, 1 - kept, 1 - chart.tail), least() - 1)
    if more <= usual:
        return None
    return Alarm(chart.first_age + day, WORSE, more, usual, so_far, int(chart.base[day]))
