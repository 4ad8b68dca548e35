"""What is kept of a rota: its rules, who is given what, what was decided, and which housings are done in one go."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from farm.models import Assignment, ChoreMark, Farm, Housing, Machine, Member, Pin, RotaRules
from farm.planning.agenda import Item
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import agenda
from farm.queries.agenda import Due


def rules(farm: Farm) -> RotaRules | None:
    """Return how the farm shares its work; None: it has no rota, and everybody sees what they may do."""
    return RotaRules.objects.filter(farm=farm).first()


def members(farm: Farm) -> dict[int, Member]:
    """Return the members on the farm now by number, in the order of their names."""
    return {row.pk: row for row in Member.objects.filter(farm=farm, left_on__isnull=True)}


def places(farm: Farm) -> dict[str, str]:
    """Return where each housing and machine stands, or its name, by the key items have in `room`. Two queries."""
    found: dict[str, str] = {}
    for model, lead in ((Housing, ""), (Machine, "machine:")):
        for pk, where, name in model.objects.filter(farm=farm).values_list("pk", "whereabouts", "name"):
            found[f"{lead}{pk}"] = where.strip() or name
    return found


def group_of(item: Item, housings: Mapping[str, str]) -> str:
    """Return what an item's place is called when places that stand together are one: "" for no place.

    housings: as `places` has them.
    """
    return item.room_name if item.room is None else housings.get(item.room, item.room_name)


def assigned(farm: Farm, window: Window) -> dict[Key, tuple[int, ...]]:
    """Return who does what on the days of the window by the rota: numbers of members by occurrence, first seat first.

    Occurrences put off count on the day they are done. Past days are as they were given out.
    """
    rows = Assignment.objects.filter(farm=farm, day__gte=window.start, day__lt=window.end)
    return by_key(rows.order_by("seat").values_list("source", "due", "round", "member_id"))


def dues(farm: Farm, window: Window, today: date) -> tuple[Due, ...]:
    """Return what is to be done in the window with its marks, also of what was put off into it."""
    items = agenda.for_farm(farm, window, today)
    rows = ChoreMark.objects.filter(farm=farm, due__gte=first_due(items, window.start), due__lt=window.end)
    marks = {(row.source, row.due, row.round): row for row in rows.select_related("member")}
    return tuple(Due(item, marks.get(item.occurrence)) for item in items)


def first_due(items: Iterable[Item], otherwise: date) -> date:
    """Return the earliest day that the occurrences of some items name: what was put off keeps its first."""
    return min((item.occurrence[1] for item in items), default=otherwise)


def given(farm: Farm, since: date) -> dict[Key, tuple[int, ...]]:
    """Return who has by the rota what was first due on `since` or later."""
    rows = Assignment.objects.filter(farm=farm, due__gte=since).order_by("seat")
    return by_key(rows.values_list("source", "due", "round", "member_id"))


def by_key(rows: Iterable[tuple[str, date, str, int]]) -> dict[Key, tuple[int, ...]]:
    """Return the values of rows (source, due, round, value) by occurrence, in their order."""
    found: dict[Key, list[int]] = defaultdict(list)
    for source, due, round, value in rows:
        found[source, due, round].append(value)
    return {key: tuple(values) for key, values in found.items()}


def pins(farm: Farm, since: date) -> dict[Key, tuple[int, ...]]:
    """Return whom people decided to do occurrences first due on `since` or later."""
    rows = Pin.objects.filter(farm=farm, due__gte=since).order_by("pk")
    return by_key(rows.values_list("source", "due", "round", "member_id"))


def marked(farm: Farm, since: date) -> set[Key]:
    """Return the occurrences first due on `since` or later that are done or left out."""
    rows = ChoreMark.objects.filter(farm=farm, due__gte=since)
    return set(rows.values_list("source", "due", "round"))
