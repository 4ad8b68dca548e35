"""Names that break calendars, in real records: as many components and properties as with harmless ones, and readable.

The words go past the services into the columns, as an older version or another program might have left them there.
Judges: our byte linter, `ical`, `icalendar`, and `ical.js` where it is installed.
"""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import pytest

from calendars import building, editions
from calendars.editions import Options
from calendars.ics import clean
from farm.models import Batch, Farm, Housing, Member, Order, OwnChore
from farm.services import own_chores
from tests.calendars import readers
from tests.calendars.cases import HOSTILE
from tests.calendars.conftest import subscribe
from tests.calendars.linter import problems
from tests.conftest import NOON, TODAY
from tests.farm.orders_world import take

#: What no database column can hold is left to the tests of `clean`. A name of nothing but such signs is no name.
NAMES = [text for text in HOSTILE if "\ud83d" not in text and clean(text)]
#: Where a family types: every one of these shows in some calendar.
PLACES = [
    (Farm, "name"),
    (Housing, "name"),
    (Batch, "name"),
    (Batch, "breed"),
    (Member, "name"),
    (OwnChore, "title"),
    (OwnChore, "place"),
    (Order, "customer"),
]
READERS = [readers.by_ical, readers.by_icalendar] + [readers.by_icaljs] * readers.HAS_ICALJS


@pytest.fixture
def links(world):
    """Return the keeper's calendars of the farm, of their own work and of orders, with one record of each kind."""
    world.add_batch("Spring", housing="Brooder 1", breed="Marans")
    Housing.objects.exclude(name="Brooder 1").delete()
    own_chores.add(
        world.by, title="Oil the hinges", start=TODAY + timedelta(days=3), minutes=10, place="Shed"
    )
    take(world, customer="Meadow Farm")
    short = Options(back_days=2, ahead_days=21)
    return [subscribe(world.by, scope=scope, options=short).link for scope in ("farm", "mine", "orders")]


def drafts(links) -> list[bytes]:
    for link in links:
        link.refresh_from_db()
    return [building.draft(editions.of(link), NOON).octets for link in links]


def counts(octets: bytes) -> Counter[str]:
    """Count what there is by name: BEGIN:VEVENT, SUMMARY and so on."""
    found: Counter[str] = Counter()
    for line in octets.replace(b"\r\n ", b"").decode().split("\r\n"):
        name = line.split(":")[0].split(";")[0]
        found[line if name in ("BEGIN", "END") else name] += 1
    return found


def test_a_hostile_name_in_every_record_changes_no_count(links):
    plain = drafts(links)
    for name in NAMES:
        for model, column in PLACES:
            model.objects.update(**{column: name})
        for before, after in zip(plain, drafts(links), strict=True):
            assert after != before, name
            assert problems(after) == [], name
            assert counts(after) == counts(before), name
            uids = sorted(fact.uid for fact in readers.by_icalendar(before))
            for read in READERS:
                found = read(after)
                assert sorted(fact.uid for fact in found) == uids, name
                # An apostrophe keeps a spreadsheet from running what somebody exports to it.
                assert not any(fact.title.startswith(("=", "+", "-", "@")) for fact in found), name


def test_each_place_shows_in_one_of_the_calendars(links):
    """Else the test above would prove nothing about it."""
    shown = set()
    for model, column in PLACES:
        word = f"Zzyzx{len(shown)}"
        model.objects.update(**{column: word})
        if any(word.encode() in octets.replace(b"\r\n ", b"") for octets in drafts(links)):
            shown.add((model, column))
    assert shown >= {
        (Farm, "name"), (Housing, "name"), (Batch, "name"), (Member, "name"), (OwnChore, "title"), (Order, "customer"),
    }  # fmt: skip
