"""Invented farms written into the database, many at a time. The guards stay on: what they refuse stops the run.

Not through `writing.write`: a history of every row would be most of the work and there is nobody to undo it. Each farm
has one entry that says it was invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.hashers import make_password
from django.db import models, transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import (
    Batch,
    ChoreMark,
    CountEntry,
    Farm,
    Filling,
    HistoryEntry,
    Housing,
    Login,
    Member,
    Order,
    OrderLine,
    ProgrammeVersion,
    RearingProgramme,
    Stay,
)
from farm.services.synthetic.rows import Rows, marks, rows
from farm.services.synthetic.scene import scene

#: The login of a farm's keeper, by seed and number; .invalid is nobody's.
LOGIN = "keeper-{seed}-{number}@invented.invalid"
AT_ONCE = 250  # farms a transaction; project default (judgement)
MOST_FARMS, MOST_BATCHES = 1_000_000, 200
#: Each after those it points to.
_TABLES: tuple[type[models.Model], ...] = (
    *(Member, RearingProgramme, ProgrammeVersion, Housing, Batch, CountEntry, Stay),
    *(Order, OrderLine, Filling, HistoryEntry),
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """How many farms, made up from which seed, with how many batches each (fewest, most).

    password: one for all their keepers; "" for logins nobody can sign in with. beside_real: also where real farms are.
    """

    farms: int
    seed: int = 1
    batches: tuple[int, int] = (2, 5)
    password: str = ""
    beside_real: bool = False


def generate(wanted: Wanted, *, now: datetime) -> Iterator[int]:
    """Write the farms and yield, time and again, how many there are so far; those of the same seed are gone on with.

    The same seed makes the same farms, dated from the day of `now`. A run that breaks off leaves whole farms. Raises
    BadInput at farms, batches or, where real farms are, beside_real.
    """
    _check(wanted)
    # One hash for all: a good one takes a tenth of a second.
    password = make_password(wanted.password or None)
    first, made = _next_number(wanted.seed), 0
    while made < wanted.farms:
        many = min(AT_ONCE, wanted.farms - made)
        _write(wanted, range(first + made, first + made + many), password, now)
        made += many
        yield made


def _check(wanted: Wanted) -> None:
    problems: dict[str, list[object]] = {}
    if not 1 <= wanted.farms <= MOST_FARMS:
        problems["farms"] = [_("Enter a number from 1 to %(most)d.") % {"most": MOST_FARMS}]
    low, high = wanted.batches
    if not 0 <= low <= high <= MOST_BATCHES:
        problems["batches"] = [_("Write the fewest and the most, at most %d.") % MOST_BATCHES]
    if not wanted.beside_real and Farm.objects.filter(is_demo=False).exists():
        problems["beside_real"] = [_("There are real farms here. Say that you mean it to go on.")]
    if problems:
        raise BadInput(problems)


def _next_number(seed: int) -> int:
    """Return the number after the last farm that was made from this seed."""
    start, end = LOGIN.format(seed=seed, number="|").split("|")
    known = Login.objects.filter(email__startswith=start, email__endswith=end).values_list("email", flat=True)
    return max((int(email.removeprefix(start).removesuffix(end)) for email in known), default=0) + 1


def _write(wanted: Wanted, numbers: range, password: str, now: datetime) -> None:
    made: list[Rows] = []
    for number in numbers:
        email = LOGIN.format(seed=wanted.seed, number=number)
        login = Login(email=email, password=password, name="Keeper (invented)")
        made.append(
            rows(scene(wanted.seed, number, wanted.batches), login, now, f"{wanted.seed}/{number}/rows")
        )
    with transaction.atomic():
        Farm.objects.bulk_create([one.farm for one in made])
        Login.objects.bulk_create([one.keeper.login for one in made if one.keeper.login])
        for table in _TABLES:
            found = [row for one in made for row in one.found.get(table, ())]
            for each in _in_order(table, found):
                table._default_manager.bulk_create(each, batch_size=1000)
        ChoreMark.objects.bulk_create([mark for one in made for mark in marks(one)], batch_size=1000)


def _in_order(table: type[models.Model], found: list[models.Model]) -> Iterator[list[models.Model]]:
    """Yield rows in the order they are written: a line that takes one back needs the number of that one."""
    if table is not CountEntry:
        yield found
        return
    yield [row for row in found if isinstance(row, CountEntry) and row.reverses is None]
    yield [row for row in found if isinstance(row, CountEntry) and row.reverses is not None]
