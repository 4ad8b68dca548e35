"""Digests of a round for 1,000 farms with 4 people each, beside 10 farms, and beside asking anew for each member.

Django is imported inside the functions: the other measurements need none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from bench.database import fresh
from bench.timing import seconds

if TYPE_CHECKING:
    from farm.models import Farm
    from farm.queries.reminders import Reader, Work

FARMS, FEW = 1000, 10
#: A farm costs at most so many times as much among a thousand as among ten, and reading its work once for all its
#: members pays at least so many times; project default (judgement).
GROWS_MOST, SAVES_LEAST = 2.0, 1.5
NAMES = ("Ada", "Ben", "Cara", "Dan")
NOW = datetime(2031, 5, 1, 4, 30, tzinfo=UTC)  # half past six in Berlin
TODAY = date(2031, 5, 1)


def measure() -> bool:
    """Print the cost of a farm in each way; return whether it stays the same and reading once pays."""
    with fresh():
        few = [farm_of(n) for n in range(FEW)]
        small, checked = per_farm(few), same(few)
        once, each = cost(few, all_at_once), cost(few, member_by_member)
        many = [*few, *(farm_of(n) for n in range(FEW, FARMS))]
        make_due()
        sweep, due = finding()
        large = per_farm(many)
    print(f"  one look at a farm among {FEW:>5}: {1000 * small:6.1f} ms")
    print(
        f"  one look at a farm among {FARMS:>5}: {1000 * large:6.1f} ms, {large / small:.2f} times as long "
        f"(at most {GROWS_MOST})"
    )
    print(f"  finding the {due} that are due:  {1000 * sweep:6.1f} ms")
    print(f"  all digests of a farm, read once: {1000 * once:6.1f} ms")
    print(
        f"  asked for each member anew:       {1000 * each:6.1f} ms, {each / once:.2f} times as long "
        f"(at least {SAVES_LEAST})"
    )
    print(f"  the same words: {'yes' if checked else 'no'}")
    return checked and large / small <= GROWS_MOST and each / once >= SAVES_LEAST


def farm_of(number: int) -> int:
    """Return the number of a new farm: two batches, and four people who each have a channel and want to be told."""
    from django.db import transaction

    from farm.models import Channel, Farm, Member, ReminderClock, ReminderWishes
    from farm.models.history import Face
    from farm.services import batches, housings
    from farm.services.actor import Actor

    with transaction.atomic():
        farm = Farm.objects.create(name=f"Farm {number}", time_zone="Europe/Berlin")
        by = Actor(farm_id=farm.pk, face=Face.COMMAND, now=NOW, today=TODAY)
        for age in (7, 14):
            place = housings.add(by, name=f"Brooder {age}", kind="brooder", area_m2=20.0, heated=True)
            new = batches.NewBatch(
                name=f"Birds of {age} days", birds=40, programme="chicken_layer_brown", housing_id=place.pk,
                hatch_day=TODAY - timedelta(days=age),
            )  # fmt: skip
            batches.start(by, new=new)
        for name in NAMES:
            member = Member.objects.create(farm=farm, name=name, role="keeper" if name == "Ada" else "helper")
            ReminderWishes.objects.create(farm=farm, member=member, morning_at=time(6, 30), missed=False)
            Channel.objects.create(farm=farm, member=member, kind="email", label=name, address="sealed")
        ReminderClock.objects.update_or_create(farm=farm, defaults={"next_at": NOW - timedelta(minutes=1)})
    return farm.pk


def finding() -> tuple[float, int]:
    """Return the seconds in which the sweep finds the farms that are due, and how many they are."""
    from farm.services.reminders import clock

    found: list[int] = []
    return seconds(lambda: found.extend(clock.to_look_at(NOW))), len(found)


def per_farm(farms: Sequence[int]) -> float:
    """Return the seconds of one look, the mean of FEW farms spread over all; each is put back to be looked at anew."""
    from farm.models import Notice
    from farm.services.reminders import look

    some = farms[:: max(1, len(farms) // FEW)][:FEW]
    found = []
    for _turn in range(5):
        Notice.objects.all().delete()
        make_due()
        found.append(seconds(lambda: [look.look(farm_id=one, now=NOW) for one in some]) / len(some))
    assert Notice.objects.count() == len(some) * len(NAMES)
    return min(found)


def make_due() -> None:
    """Have all farms due for a look."""
    from farm.models import ReminderClock

    ReminderClock.objects.update(next_at=NOW - timedelta(minutes=1))


def cost(farms: Sequence[int], way: Callable[[int], list[str]]) -> float:
    """Return the seconds in which one way words the digests of a farm, the least of three."""
    return min(seconds(lambda: [way(one) for one in farms]) / len(farms) for _turn in range(3))


def same(farms: Sequence[int]) -> bool:
    """Say whether both ways word every digest alike."""
    return all(all_at_once(one) == member_by_member(one) != [] for one in farms)


def all_at_once(farm_id: int) -> list[str]:
    """Word a farm's digests of the morning as a look does: its work is read once."""
    from farm.models import Farm
    from farm.queries import reminders as read

    farm = Farm.objects.get(pk=farm_id)
    work = read.work(farm, TODAY, 1, TODAY)
    return [_body(farm, work, reader) for reader in read.readers(farm, TODAY)]


def member_by_member(farm_id: int) -> list[str]:
    """Word the same digests with the farm's work read anew for each member."""
    from farm.models import Farm
    from farm.queries import reminders as read

    farm = Farm.objects.get(pk=farm_id)
    return [_body(farm, read.work(farm, TODAY, 1, TODAY), reader) for reader in read.readers(farm, TODAY)]


def _body(farm: Farm, work: Work, reader: Reader) -> str:
    from farm.models.notice import NoticeKind
    from farm.services.reminders import digests
    from farm.services.reminders.moments import Moment

    moment = Moment(NOW, NOW + timedelta(hours=3), NoticeKind.ROUND, TODAY, "morning", to=reader)
    return "\n".join(letter.subject + letter.body for letter in digests.letters(farm, work, [moment]))
