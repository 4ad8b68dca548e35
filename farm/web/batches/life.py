"""The life line of a batch: its ages by colour, its steps done and to come, and where it lives, on one line of days."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch
from farm.models.batch import BatchSource
from farm.planning.window import Window
from farm.queries import agenda, heads, programmes
from farm.queries.agenda import Due
from farm.web import plumage
from farm.web.board.bands import Stop, stage_days

_WIDTH = 1160.0  # what a desk shows without scrolling; phones scroll
_NARROWEST, _WIDEST = 8.0, 24.0  # drawing units a day
BAR_TOP, BAR_HEIGHT = 30.0, 26.0
_LANE, _ROOM = 27.0, 20.0
_NAME = 110.0  # room for a housing's name
#: How far the line reaches when nobody knows when the birds leave. Project default (judgement).
_USUAL_DAYS, _AHEAD_DAYS, _MOST_DAYS = 26 * 7, 8 * 7, 400
_BEFORE_DAYS = 2  # steps that come before the birds: the brooder warmed up
OPEN, COMING, DONE, SKIPPED, PASSED = "open", "coming", "done", "skipped", "passed"


@dataclass(frozen=True, slots=True)
class Step:
    """One step. state: DONE or SKIPPED by its mark; without one OPEN in its window, PASSED after, COMING before."""

    due: Due
    state: str


@dataclass(frozen=True, slots=True)
class DaySteps:
    """The steps of one day, numbered as in the list; the mark stands at x, y. state: the most pressing of its steps."""

    number: int
    day: date
    steps: tuple[Step, ...]
    x: float
    y: float

    @property
    def state(self) -> str:
        """Return the state the mark is drawn in."""
        states = {step.state for step in self.steps}
        return next(state for state in (OPEN, COMING, PASSED, SKIPPED, DONE) if state in states)


@dataclass(frozen=True, slots=True)
class Home:
    """One stay as a bar under the line, its name written at each of `labels`."""

    name: str
    x: float
    width: float
    y: float
    labels: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Life:
    """Everything the life line's templates read. pieces: (stage of plumage, x, width), the pattern twin of colour.

    hatch_x: where their life begins; what is before it is spent in the eggs.
    """

    width: float
    height: float
    hatch_x: float
    stops: tuple[Stop, ...]
    feathered_x: float
    pieces: tuple[tuple[str, float, float], ...]
    weeks: tuple[tuple[float, int], ...]
    today_x: float | None
    days: tuple[DaySteps, ...]
    homes: tuple[Home, ...]
    bar_y: float = BAR_TOP
    bar_height: float = BAR_HEIGHT

    @property
    def coming(self) -> tuple[DaySteps, ...]:
        """Return the days with steps still to do, those to do now first."""
        return tuple(day for day in self.days if day.state in (OPEN, COMING))

    @property
    def past(self) -> tuple[DaySteps, ...]:
        """Return the days whose steps are done, left out or over, newest first."""
        return tuple(day for day in reversed(self.days) if day.state not in (OPEN, COMING))

    @property
    def next(self) -> Step | None:
        """Return the step to do next."""
        open_steps = (step for day in self.coming for step in day.steps if step.state in (OPEN, COMING))
        return next(open_steps, None)


def draw(batch: Batch, today: date) -> Life:
    """Return the life line of a batch read by `queries.batches.whole`, from its hatch day on.

    Of one that is still in its eggs, from the day they are set.
    """
    lead, days = _in_eggs(batch), _days(batch, today)
    window = Window(batch.hatch_day - timedelta(days=lead), lead + days)
    now = window.index(today)
    a_day = min(_WIDEST, max(_NARROWEST, _WIDTH / window.days))
    marks = tuple(_marks(batch, today, days, lead, a_day))
    below = max([BAR_TOP + BAR_HEIGHT, *(mark.y + 13 for mark in marks)]) + 8
    homes = tuple(_homes(batch, window, now, a_day, below))
    feathered = programmes.of(batch).rules["feathered_day"].value
    return Life(
        width=round(window.days * a_day, 2),
        height=max([below, *(home.y + _ROOM + 4 for home in homes)]),
        hatch_x=round(lead * a_day, 2),
        stops=tuple(Stop(share, "#{:02x}{:02x}{:02x}".format(*colour)) for share, colour in plumage.RAMP),
        feathered_x=round((lead + feathered) * a_day, 2),
        pieces=tuple(_pieces(feathered, days, lead, a_day)),
        weeks=tuple((round((lead + week * 7) * a_day, 2), week) for week in range(days // 7 + 1)),
        today_x=round((now + 0.5) * a_day, 2) if 0 <= now < window.days else None,
        days=marks,
        homes=homes,
    )


def _in_eggs(batch: Batch) -> int:
    """Return the days from the setting of a batch's eggs to its hatch day, 0 once it hatched or came from elsewhere."""
    if batch.expected and batch.source == BatchSource.OWN_HATCH:
        return max((batch.hatch_day - batch.egg_set.set_on).days, 0)
    return 0


def _days(batch: Batch, today: date) -> int:
    end = heads.gone_on(batch) or batch.leaves_on
    if end is None or end < today < end + timedelta(days=_AHEAD_DAYS):
        end = max(batch.hatch_day + timedelta(days=_USUAL_DAYS), today + timedelta(days=_AHEAD_DAYS))
    return min(max((end - batch.hatch_day).days + 7, 21), _MOST_DAYS)


def _marks(batch: Batch, today: date, days: int, lead: int, a_day: float) -> Iterator[DaySteps]:
    by_day: dict[date, list[Step]] = {}
    early = batch.hatch_day - min(batch.hatch_day, batch.arrived_on) + timedelta(days=_BEFORE_DAYS)
    for due in agenda.for_batch(batch, today, days + early.days):
        by_day.setdefault(due.item.due, []).append(Step(due, state(due, today)))
    free: list[float] = []  # where each lane is free from
    for number, (day, steps) in enumerate(sorted(by_day.items()), 1):
        # What comes before the line's first day stands at its beginning.
        x = max((max((day - batch.hatch_day).days + lead, 0) + 0.5) * a_day, _LANE / 2)
        lane = next((index for index, taken in enumerate(free) if taken <= x), len(free))
        free[lane : lane + 1] = [x + _LANE]
        yield DaySteps(
            number, day, tuple(steps), round(x, 2), BAR_TOP + BAR_HEIGHT + 8 + lane * _LANE + _LANE / 2
        )


def state(due: Due, today: date) -> str:
    """Return where a step stands today."""
    if due.mark is not None:
        return due.mark.state
    if (due.item.until or due.item.due + timedelta(days=1)) <= today:
        return PASSED
    return OPEN if due.item.due <= today else COMING


def _homes(batch: Batch, window: Window, now: int, a_day: float, top: float) -> Iterator[Home]:
    free: list[float] = []
    for stay in batch.stays.all():
        columns = window.clip(stay.start, stay.end)
        if columns is not None:
            x, width = columns.start * a_day, (columns.stop - columns.start) * a_day
            lane = next((index for index, taken in enumerate(free) if taken <= x), len(free))
            free[lane : lane + 1] = [x + width]
            # Phones open the line at today: the name is said there again.
            here = (now + 1) * a_day
            labels = (x, here) if x + _NAME < here < x + width - _NAME else (x,)
            yield Home(stay.housing.name, round(x, 2), round(width, 2), top + lane * (_ROOM + 4), labels)


def _pieces(feathered: float, days: int, lead: int, a_day: float) -> Iterator[tuple[str, float, float]]:
    for stage, hit in stage_days(feathered, 0, days).items():
        columns = hit.nonzero()[0]
        if len(columns):
            yield stage, round((lead + int(columns[0])) * a_day, 2), round(len(columns) * a_day, 2)
