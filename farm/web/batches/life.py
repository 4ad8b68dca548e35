"""The life line of a batch: its ages by colour, its steps done and to come, and where it lives, on one line of days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch
from farm.planning.window import Window
from farm.queries import agenda, heads, programmes
from farm.queries.agenda import Due
from farm.web import plumage
from farm.web.board.bands import Stop, stage_days

DAY = 12.0  # drawing units a day
_BAR_TOP, _BAR_HEIGHT = 30.0, 26.0
_LANE = 26.0
_ROOM = 20.0
_MOST_DAYS = 400
_USUAL_DAYS = 26 * 7
_AHEAD_DAYS = 8 * 7


@dataclass(frozen=True, slots=True)
class Step:
    """One step, numbered as in the list: its mark stands at x in a lane. state: done, skipped, open or coming."""

    number: int
    due: Due
    state: str
    age: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Home:
    """One stay as a bar under the line."""

    name: str
    x: float
    width: float
    y: float


@dataclass(frozen=True, slots=True)
class Life:
    """Everything the life line's templates read."""

    width: float
    height: float
    bar_y: float
    bar_height: float
    stops: tuple[Stop, ...]
    feathered_x: float
    pieces: tuple[tuple[str, float, float], ...]
    weeks: tuple[tuple[float, int], ...]
    today_x: float | None
    today_age: int
    steps: tuple[Step, ...]
    homes: tuple[Home, ...]

    @property
    def coming(self) -> tuple[Step, ...]:
        """Return the steps still to do, overdue ones first."""
        return tuple(step for step in self.steps if step.state in ("open", "coming"))

    @property
    def past(self) -> tuple[Step, ...]:
        """Return the steps done or left out, and those whose time is over, newest first."""
        return tuple(step for step in reversed(self.steps) if step.state not in ("open", "coming"))


def draw(batch: Batch, today: date) -> Life:
    """Return the life line of a batch from hatch day to the last day worth showing."""
    days = _days(batch, today)
    window = Window(batch.hatch_day, days)
    steps = _steps(batch, today, days)
    homes = _homes(batch, window)
    lanes = max((step.y for step in steps), default=0.0) + _LANE if steps else 0.0
    below = _BAR_TOP + _BAR_HEIGHT + 8 + lanes
    homes = tuple(Home(home.name, home.x, home.width, below + home.y) for home in homes)
    feathered = programmes.of(batch).rules["feathered_day"].value
    now = window.index(today)
    return Life(
        width=days * DAY,
        height=max([below, *(home.y + _ROOM + 6 for home in homes)]),
        bar_y=_BAR_TOP,
        bar_height=_BAR_HEIGHT,
        stops=tuple(Stop(share, "#{:02x}{:02x}{:02x}".format(*colour)) for share, colour in plumage.RAMP),
        feathered_x=round(feathered * DAY, 2),
        pieces=_pieces(feathered, days),
        weeks=tuple((week * 7 * DAY, week) for week in range(days // 7 + 1)),
        today_x=now * DAY if 0 <= now < days else None,
        today_age=now,
        steps=tuple(
            Step(s.number, s.due, s.state, s.age, s.x, _BAR_TOP + _BAR_HEIGHT + 8 + s.y) for s in steps
        ),
        homes=homes,
    )


def _days(batch: Batch, today: date) -> int:
    end = heads.gone_on(batch) or batch.leaves_on
    usual = batch.hatch_day + timedelta(days=_USUAL_DAYS)
    end = end or max(usual, today + timedelta(days=_AHEAD_DAYS))
    return min(max((end - batch.hatch_day).days + 7, 21), _MOST_DAYS)


def _steps(batch: Batch, today: date, days: int) -> tuple[Step, ...]:
    found, free = [], list[float]()
    early = batch.hatch_day - min(batch.hatch_day, batch.arrived_on) + timedelta(days=2)
    for number, due in enumerate(agenda.for_batch(batch, today, days + early.days), 1):
        age = (due.item.due - batch.hatch_day).days
        x = max(age, 0) * DAY + DAY / 2
        lane = next((index for index, taken in enumerate(free) if taken <= x), len(free))
        free[lane : lane + 1] = [x + _LANE]
        found.append(Step(number, due, _state(due, today), age, x, lane * _LANE + _LANE / 2))
    return tuple(found)


def _state(due: Due, today: date) -> str:
    if due.mark is not None:
        return due.mark.state
    until = due.item.until or due.item.due + timedelta(days=1)
    if until <= today:
        return "passed"
    return "open" if due.item.due <= today else "coming"


def _homes(batch: Batch, window: Window) -> tuple[Home, ...]:
    homes, free = [], list[float]()
    for stay in batch.stays.all():
        columns = window.clip(stay.start, stay.end)
        if columns is None:
            continue
        x, width = columns.start * DAY, (columns.stop - columns.start) * DAY
        lane = next((index for index, taken in enumerate(free) if taken <= x), len(free))
        free[lane : lane + 1] = [x + width]
        homes.append(Home(stay.housing.name, x, width, lane * (_ROOM + 4)))
    return tuple(homes)


def _pieces(feathered: float, days: int) -> tuple[tuple[str, float, float], ...]:
    """Return the stages of plumage as (stage, x, width): the pattern twin of the colours."""
    pieces = []
    for stage, hit in stage_days(feathered, 0, days).items():
        columns = hit.nonzero()[0]
        if len(columns):
            pieces.append((stage, int(columns[0]) * DAY, len(columns) * DAY))
    return tuple(pieces)
