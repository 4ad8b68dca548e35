"""The farm a random life is led on: who acts on which day, what is read back, and how each act is judged."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from django.apps import apps
from django.db import connection, transaction
from hypothesis.stateful import RuleBasedStateMachine

from farm.errors import FarmError
from farm.models import Batch, ChoreMark, CountEntry, Farm, Filling, HistoryEntry, Housing, OwnChore, Stay
from farm.planning.window import Window
from farm.queries import heads, occupancy, soundness
from farm.services.actor import Actor
from tests.conftest import NOON, TODAY, make_world
from tests.life.life_model import NOT_FOLLOWED, Effect, Model, Spans, by_day

FIRST, DAYS = TODAY - timedelta(days=70), 200  # where birds are is compared on these days
FREE: dict[str, Any] = {"expected_version": None}
REFUSED = object()
_PRINTED = (Batch, Stay, Housing, CountEntry, ChoreMark, OwnChore)


class Lived(RuleBasedStateMachine):
    """One farm in a transaction that is rolled back at the end, and the model beside it."""

    def __init__(self) -> None:
        super().__init__()
        self.open = transaction.atomic()
        self.open.__enter__()
        self.world, self.other = make_world(), make_world("bea@example.org", "Far Farm")
        self.other.add_housing("Far brooder")
        self.helper = self.world.add_member("Hal", "helper")
        self.child = self.world.add_member("Cia", "child")
        self.days = 0
        self.model = Model()
        self.orders: list[tuple[int, int]] = []  # order, its line
        self.given: list[int] = []  # hand-overs
        self.plans: list[int] = []
        self.accepted: list[str] = []

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.open.__exit__(None, None, None)

    # -- who and when -------------------------------------------------------------------------------------------
    @property
    def by(self) -> Actor:
        return self.on(self.world.by)

    def on(self, who: Actor) -> Actor:
        shift = timedelta(days=self.days)
        return replace(who, now=NOON + shift, today=TODAY + shift)

    def day(self, offset: int) -> date:
        return self.by.today + timedelta(days=offset)

    def pick(self, table: str, which: int) -> Any:
        """Return a key of the model's table, 0 (nobody's number) when it is empty."""
        keys = sorted(self.model.tables[table])
        return keys[which % len(keys)] if keys else 0

    # -- acting -------------------------------------------------------------------------------------------------
    def do(
        self,
        act: Callable[[], Any],
        effects: Callable[[Any], Sequence[Effect]] = lambda _made: (),
    ) -> Any:
        """Do something and tell the model. Refused, it must have changed nothing; done, it is one history entry."""
        before, newest, version = self.fingerprint(), self.newest(), self.version()
        empty = self._without_birds()
        made = self._tried(act)
        if made is REFUSED:
            assert self.fingerprint() == before
            return None
        entry = self.newest() if self.newest() != newest else None
        assert self.version() == version + (entry is not None)
        done = effects(made)
        if entry is None:  # birds that were not followed are where they were
            done = [effect for effect in done if effect.table != "place" or effect.before is not NOT_FOLLOWED]
        self.model.accept(entry, [*done, *(empty if entry is not None else ())])
        if entry is not None:
            self.accepted.append(HistoryEntry.objects.values_list("verb", flat=True).get(pk=entry))
        return made

    def _without_birds(self) -> list[Effect]:
        """Say of each write that it may have ended stays of batches without birds: those give way to whoever comes."""
        batches = self.model.tables["batch"]
        return [
            Effect("place", key, NOT_FOLLOWED, NOT_FOLLOWED) for key in batches if not self.model.heads[key]
        ]

    def must_refuse(self, act: Callable[[], Any]) -> None:
        """Do what can never be right: it is refused and changes nothing."""
        before = self.fingerprint()
        assert self._tried(act) is REFUSED, "what can never be right was accepted"
        assert self.fingerprint() == before

    @staticmethod
    def _tried(act: Callable[[], Any]) -> Any:
        """Return what an act makes, REFUSED when the farm will not have it. Any other error is a find."""
        try:
            return act()
        except FarmError:
            return REFUSED

    def fingerprint(self) -> list[Any]:
        """Return the rows of every table counted, the farm's version, and what the main tables say."""
        tables = [model._meta.db_table for model in apps.get_models()]
        with connection.cursor() as cursor:
            cursor.execute("SELECT " + ", ".join(f"(SELECT COUNT(*) FROM {table})" for table in tables))
            counted = cursor.fetchone()
        rows = [list(model._default_manager.order_by("pk").values_list()) for model in _PRINTED]
        return [counted, self.version(), rows]

    def newest(self) -> int:
        return HistoryEntry.objects.filter(farm=self.world.farm).values_list("pk", flat=True)[0]

    def version(self) -> int:
        return Farm.objects.values_list("version", flat=True).get(pk=self.world.farm.pk)

    # -- where birds are ----------------------------------------------------------------------------------------
    def spans(self, batch: int) -> Spans:
        rows = Stay.objects.filter(batch=batch).order_by("start", "pk")
        return tuple(rows.values_list("housing_id", "start", "end"))

    def places(self, *batches: int) -> list[Effect]:
        """Return what was done to where birds are, read from the records: moves of a part, plans, other days."""
        found = [
            effect for batch in batches for effect in self.model.gives("place", batch, self.spans(batch))
        ]
        self.model.whole -= {effect.key for effect in found}
        return found

    # -- what rules may point at --------------------------------------------------------------------------------
    def learn_lines(self, batch: int) -> None:
        """Note the numbers of a batch's ledger lines, for rules that take one back."""
        for key, birds in CountEntry.objects.filter(batch=batch).values_list("pk", "birds"):
            self.model.lines[key] = (batch, birds)

    def filled(self, key: int) -> tuple[int, int]:
        """Return the batch and birds of a hand-over; nobody's for one that is gone."""
        return Filling.objects.filter(pk=key).values_list("batch", "birds").first() or (0, 0)

    # -- judging ------------------------------------------------------------------------------------------------
    def judge(self) -> None:
        """Say that the farm is sound and that its records are what the model makes of what was accepted."""
        farm, model = self.world.farm, self.model
        assert soundness.problems(farm) == []
        assert dict(Batch.objects.filter(farm=farm).values_list("pk", "name")) == model.tables["batch"]
        rows = Housing.objects.filter(farm=farm).values_list("pk", "name", "area_m2", "one_batch")
        assert {key: tuple(rest) for key, *rest in rows} == model.tables["housing"]
        chores = OwnChore.objects.filter(farm=farm).values_list("pk", "title", "ended_on")
        assert {key: (title, ended is not None) for key, title, ended in chores} == model.tables["own"]
        marks = ChoreMark.objects.filter(farm=farm).values_list("source", "due", "round", "state")
        assert {(source, due, part): state for source, due, part, state in marks} == model.tables["mark"]
        self._judge_birds()

    def _judge_birds(self) -> None:
        batches = Batch.objects.filter(farm=self.world.farm).prefetch_related("count_entries", "stays")
        there = {batch.pk: heads.alive_on(batch, date.max) for batch in batches}
        assert there == {key: self.model.heads[key] for key in self.model.tables["batch"]}
        self.model.whole &= there.keys()
        assert all(birds == 0 for key, birds in self.model.heads.items() if key not in there)
        for batch in batches:
            now = [(stay.housing_id, stay.start, stay.end) for stay in batch.stays.all()]
            said = self.model.tables["place"].get(batch.pk, NOT_FOLLOWED)
            # Stays of a batch without birds give way to whoever comes.
            if said is NOT_FOLLOWED or not there[batch.pk]:
                self.model.whole.discard(batch.pk)
                self.model.tables["place"][batch.pk] = (
                    self.spans(batch.pk) if there[batch.pk] else NOT_FOLLOWED
                )
            else:
                assert by_day(now, FIRST, DAYS) == by_day(said, FIRST, DAYS), f"where {batch} is"

    def judge_readers(self) -> None:
        """Say that what pages read adds up: birds in stays and birds without housing are the birds alive."""
        window = Window(self.by.today, 60)
        sheet = occupancy.for_farm(self.world.farm, window, self.by.today)
        for batch in Batch.objects.filter(farm=self.world.farm, leaves_on__isnull=True):
            held = sum(int(part.birds[59]) for part in sheet.occupancy.parts if part.group == str(batch.pk))
            free = sheet.unhoused.get(str(batch.pk))  # a batch that is gone is not on the board
            alive = heads.alive_on(batch, self.day(59))
            assert held + (0 if free is None else int(free[59])) == alive
