"""What feed and light ask of the agenda: feed to order, old feed to use first, timers to set."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from farm.husbandry.feeding import shelf
from farm.models import ChoreMark, Farm, Feed, Housing
from farm.models.feed import FeedKind
from farm.models.housing import Light
from farm.phrase import N_, Phrase
from farm.planning.agenda import AgendaErrand
from farm.planning.window import Window
from farm.queries import feed, feed_store, light, tally
from farm.queries.feed import Row, Sheet

_WEEK = timedelta(days=7)


def for_agenda(farm: Farm, window: Window, today: date) -> tuple[AgendaErrand, ...]:
    """Return the errands of a farm. Two queries where it keeps neither feed nor a light programme."""
    return (*_feed(farm, today), *_light(farm, window))


def _feed(farm: Farm, today: date) -> Iterator[AgendaErrand]:
    if not Feed.objects.filter(farm=farm).exists():
        return
    sheet = feed.for_farm(farm, today)
    marks = ChoreMark.objects.filter(farm=farm, source__startswith="feed:")
    ticked = {mark.source: mark.due for mark in marks}
    for row in sheet.rows:
        yield from _order(row, ticked, today)
        yield from _old(row, sheet, today)


def _order(row: Row, ticked: dict[str, date], today: date) -> Iterator[AgendaErrand]:
    """Yield the order of a feed. Ticked, it keeps its day until feed is bought: the next errand is another one."""
    bought = [each for each in tally.standing(row.entries) if each.kind == FeedKind.BOUGHT]
    source = f"feed:{row.feed.pk}/order_feed/{max((each.pk for each in bought), default=0)}"
    if source not in ticked and row.order is None:
        return
    title = Phrase(N_("Order %(feed)s"), {"feed": row.feed.name})
    if row.order is None:
        why = Phrase(N_("It lasts now, by what is recorded"))
        yield AgendaErrand(source, ticked[source], title, why)
        return
    yield AgendaErrand(
        source,
        ticked.get(source) or max(row.order.order_on, today),
        title,
        Phrase(
            N_("To have it by %(day)s, with days to spare before it may run out"),
            {"day": row.order.delivered_on},
        ),
        open_ended=True,
    )


def _old(row: Row, sheet: Sheet, today: date) -> Iterator[AgendaErrand]:
    """Yield a look at each buying that is likely still unopened when it gets old."""
    hurry = int(feed_store.keeps_days(row.feed, sheet.demand.store_c) * shelf.warn_share())
    eaten = np.cumsum(row.table_kg(sheet.demand.window.days)[sheet.now :] * row.factor.likely)
    there = row.rest_kg
    for heap in row.heaps:
        there += heap.kg
        days = (heap.milled_on - today).days + hurry
        if days > 0 and eaten[min(days, len(eaten)) - 1] >= there:
            continue
        yield AgendaErrand(
            f"feed:{row.feed.pk}/check_feed/{heap.entry.pk}",
            heap.milled_on + timedelta(days=hurry),
            Phrase(N_("Use up %(feed)s that is getting old"), {"feed": row.feed.name}),
            Phrase(N_("It keeps until %(day)s"), {"day": heap.keeps_until}),
            until=max(heap.keeps_until, heap.milled_on + timedelta(days=hurry + 1)),
            open_ended=heap.keeps_until <= today,
        )


def _light(farm: Farm, window: Window) -> Iterator[AgendaErrand]:
    if not light.has_place(farm):
        return
    for housing in Housing.objects.filter(farm=farm).exclude(light=Light.NONE):
        before = None
        # A week is set alike for all its days, so whole weeks are looked at whatever the window.
        for span in light.spans(
            housing, farm, Window(window.start - 2 * _WEEK, window.days + 3 * _WEEK.days)
        ):
            for setting in light.settings(span, farm):
                if before != (setting.on, setting.off) and window.start <= setting.first_day < window.end:
                    yield AgendaErrand(
                        f"room:{housing.pk}/set_light/{span.batch.pk}-{setting.first_day.isoformat()}",
                        setting.first_day,
                        Phrase(N_("%(room)s: %(setting)s"), {"room": housing.name, "setting": setting.words}),
                        Phrase(N_("Until %(day)s, by the light programme"), {"day": setting.last_day}),
                        until=setting.last_day + timedelta(days=1),
                        room=str(housing.pk),
                        room_name=housing.name,
                    )
                before = (setting.on, setting.off)
