"""A farm lives at random: whatever is asked of it in whatever order, it stays sound and is what was accepted.

Each step asks one service for something, sensible or not. Refused, nothing has changed; accepted, the records are what
a model in plain Python says (`life_model`). Undo is among the steps, also of undos.
"""

from __future__ import annotations

from datetime import timedelta

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import invariant, precondition, rule, run_state_machine_as_test

from farm.models import HistoryEntry, Stay
from farm.services import batches, counts, history, housings, stays, upkeep
from tests.conftest import MOST_EXAMPLES
from tests.life.life_model import covers, moved
from tests.life.life_plans import Planned
from tests.life.life_world import FREE

WHICH, SOME = st.integers(0, 5), st.integers(1, 30)
EXAMPLES, STEPS = 10, 40


class Life(Planned):
    """The rules about birds and housing, and undo of everything.

    A life begins with three housings and two batches: on an empty farm most of what is asked is refused.
    """

    def __init__(self):
        super().__init__()
        for name, alone in ((6, False), (7, True), (8, False)):
            self.add_housing(name=name, area=9.0, alone=alone, heated=True)
        for name, place in ((6, 0), (7, 1)):
            self.start_batch(
                name=name, birds=24, age=20, later=None, place=place, programme="chicken_layer_brown"
            )

    @rule(
        name=WHICH,
        birds=st.integers(0, 40),
        age=st.integers(0, 60),
        later=st.sampled_from([None, None, 0, 4]),
        place=st.none() | WHICH,
        programme=st.sampled_from(["chicken_layer_brown", "chicken_dual", "turkey", "duck"]),
    )
    def start_batch(self, name, birds, age, later, place, programme):
        arrived = None if later is None else self.day(later)
        new = batches.NewBatch(
            name=f"B{name}",
            birds=birds,
            programme=programme,
            hatch_day=self.day(-age),
            arrived_on=arrived,
            housing_id=None if place is None else self.pick("housing", place),
            override_reason="they are hardy",
        )

        def effects(batch):
            self.learn_lines(batch.pk)
            begun = [
                *self.model.gives("batch", batch.pk, f"B{name}"),
                *self.model.adds(batch.pk, birds),
            ]
            if not new.housing_id:
                return [*begun, *self.model.gives("place", batch.pk, ())]
            self.model.whole.add(batch.pk)
            spans = ((new.housing_id, arrived or new.hatch_day, None),)
            return [*begun, *self.model.gives("place", batch.pk, spans)]

        self.do(lambda: batches.start(self.by, new=new), effects)

    @rule(
        which=WHICH,
        name=WHICH,
        what=st.sampled_from(["name", "arrived_on", "hatch_day"]),
        offset=st.integers(-9, 5),
    )
    def change_batch(self, which, name, what, offset):
        key = self.pick("batch", which)
        fields = {what: f"B{name}" if what == "name" else self.day(offset)}

        def effects(batch):
            if what == "name":
                return self.model.gives("batch", key, f"B{name}")
            self.learn_lines(key)
            return self.places(key)

        self.do(lambda: batches.change(self.by, batch_id=key, **FREE, **fields), effects)

    @rule(name=WHICH, area=st.floats(0, 30), alone=st.booleans(), heated=st.booleans())
    def add_housing(self, name, area, alone, heated):
        fields = {
            "kind": "pen",
            "area_m2": area,
            "one_batch": alone,
            "heated": heated,
            "max_age_gap_days": 60,
        }
        self.do(
            lambda: housings.add(self.by, name=f"H{name}", **fields),
            lambda made: self.model.gives("housing", made.pk, (f"H{name}", area, alone)),
        )

    @rule(
        which=WHICH,
        fields=st.sampled_from(
            [
                {"area_m2": 3.0},
                {"area_m2": 5.0},
                {"area_m2": 7.0},
                {"one_batch": True},
                {"one_batch": False},
                {"name": "H1"},
                {"heated": False},
            ]
        ),
    )
    def change_housing(self, which, fields):
        key = self.pick("housing", which)

        def effects(_made):
            name, area, alone = self.model.tables["housing"][key]
            now = {"name": name, "area_m2": area, "one_batch": alone} | fields
            return self.model.gives("housing", key, (now["name"], now["area_m2"], now["one_batch"]))

        self.do(lambda: housings.change(self.by, housing_id=key, **FREE, **fields), effects)

    @rule(which=WHICH)
    def remove_housing(self, which):
        key = self.pick("housing", which)
        self.do(
            lambda: housings.remove(self.by, housing_id=key),
            lambda _none: self.model.gives("housing", key, None),
        )

    @precondition(lambda self: self.model.whole)
    @rule(which=WHICH, to=WHICH)
    def move_whole_batch_now(self, which, to):
        self._move_whole(which, to, 0)

    @precondition(lambda self: self.model.whole)
    @rule(which=WHICH, to=WHICH, later=st.integers(0, 20))
    def move_whole_batch(self, which, to, later):
        self._move_whole(which, to, later)

    def _move_whole(self, which, to, later):
        whole = sorted(self.model.whole)
        key, day, place = whole[which % len(whole)], self.day(later), self.pick("housing", to)
        spans = self.model.tables["place"].get(key) or ()
        left = next((span[0] for span in spans if covers(span, day)), 0)
        asked = {"batch_id": key, "from_id": left, "to_id": place, "birds": self.model.heads[key], "day": day}
        self.do(
            lambda: stays.move(self.by, override_reason="they are hardy", **asked),
            lambda _stay: self.model.gives("place", key, moved(spans, place, day)),
        )

    @rule(which=WHICH, start=WHICH, to=WHICH, birds=SOME, later=st.integers(-3, 20))
    def move_some(self, which, start, to, birds, later):
        key = self.pick("batch", which)
        asked = {"from_id": self.pick("housing", start), "to_id": self.pick("housing", to), "birds": birds}
        self.do(
            lambda: stays.move(self.by, batch_id=key, day=self.day(later), override_reason="hardy", **asked),
            lambda _stay: self.places(key),
        )

    @rule(which=WHICH, to=WHICH, birds=SOME, first=st.integers(-5, 30), days=st.none() | st.integers(0, 30))
    def add_stay(self, which, to, birds, first, days):
        key = self.pick("batch", which)
        end = None if days is None else self.day(first) + timedelta(days=days)
        asked = {"housing_id": self.pick("housing", to), "birds": birds, "start": self.day(first), "end": end}
        self.do(
            lambda: stays.add(self.by, batch_id=key, override_reason="hardy", **asked),
            lambda _stay: self.places(key),
        )

    @rule(
        which=WHICH,
        change=st.sampled_from(["end", "start", "housing_id", "birds", "pinned", "remove"]),
        n=SOME,
    )
    def change_stay(self, which, change, n):
        rows = list(Stay.objects.filter(farm=self.world.farm).order_by("pk").values_list("pk", "batch"))
        if not rows:
            return
        key, batch = rows[which % len(rows)]
        values = {"housing_id": self.pick("housing", n), "birds": n, "pinned": True}
        fields = {change: values.get(change, self.day(n - 6))}
        if change == "remove":
            self.do(lambda: stays.remove(self.by, stay_id=key), lambda _none: self.places(batch))
        else:
            self.do(
                lambda: stays.change(self.by, stay_id=key, **FREE, **fields), lambda _stay: self.places(batch)
            )

    @rule(
        which=WHICH,
        kind=st.sampled_from(["died", "found", "culled"]),
        birds=st.integers(0, 6),
        ago=st.integers(-1, 6),
    )
    def count_few(self, which, kind, birds, ago):
        self._count(which, kind, birds, ago)

    @rule(which=WHICH, kind=st.sampled_from(["sold", "processed"]), birds=SOME)
    def count_many(self, which, kind, birds):
        self._count(which, kind, birds, 0)

    def _count(self, which, kind, birds, ago):
        key = self.pick("batch", which)

        def effects(_entry):
            self.learn_lines(key)
            return self.model.adds(key, birds if kind == "found" else -birds)

        act = {"batch_id": key, "kind": kind, "birds": birds, "day": self.day(-ago)}
        self.do(lambda: counts.add(self.on(self.helper), **act), effects)

    @precondition(lambda self: self.model.lines)
    @rule(which=st.integers(0, 20))
    def take_a_line_back(self, which):
        entry = sorted(self.model.lines)[-1 - which % len(self.model.lines)]
        batch, birds = self.model.lines[entry]

        def effects(_opposite):
            self.learn_lines(batch)
            return self.model.adds(batch, -birds)

        self.do(lambda: counts.reverse(self.by, entry_id=entry), effects)

    @rule()
    def undo_the_last(self):
        self._undo(0)

    @precondition(lambda self: self.model.whole)
    @rule(which=WHICH, to=WHICH, later=st.integers(0, 20))
    def move_and_think_better_of_it(self, which, to, later):
        self._move_whole(which, to, later)
        self.judge()
        self._undo(0)

    @rule(which=st.integers(0, 5))
    def undo(self, which):
        self._undo(which)

    @rule(which=st.integers(0, 15))
    def undo_older(self, which):
        self._undo(which)

    def _undo(self, which):
        rows = HistoryEntry.objects.filter(farm=self.world.farm, pk__in=self.model.did).order_by("-pk")
        if rows:
            entry = rows[which % len(rows)].pk
            made = self.do(lambda: history.undo(self.by, entry_id=entry))
            if made is not None:
                self.model.undo(entry, made.pk)

    @rule(nights=st.integers(1, 6))
    def nights_pass(self, nights):
        self.days += nights
        upkeep.roll_over(farm_id=self.world.farm.pk, now=self.by.now)

    @rule(which=WHICH)
    def what_can_never_be(self, which):
        key, child = self.pick("batch", which), self.on(self.child)
        theirs = self.other.housing["Far brooder"].pk
        dead = {"batch_id": key, "kind": "died", "day": self.day(0)}
        stale = {"housing_id": self.pick("housing", which), "expected_version": 99, "area_m2": 9.0}
        self.must_refuse(lambda: counts.add(self.by, birds=self.model.heads.get(key, 0) + 1, **dead))
        self.must_refuse(lambda: counts.add(child, birds=1, **dead))
        self.must_refuse(lambda: housings.change(self.by, **stale))
        self.must_refuse(lambda: housings.change(self.by, **stale | {"housing_id": theirs}))
        for done in sorted(self.model.undone)[-1:]:
            self.must_refuse(lambda done=done: history.undo(self.by, entry_id=done))

    @rule()
    def read_everything(self):
        self.judge_readers()

    @invariant()
    def is_what_was_accepted(self):
        self.judge()


#: A life takes seconds, as long as several examples of other tests: it counts as five where time is short.
LIVES = settings(
    max_examples=min(EXAMPLES, max(1, MOST_EXAMPLES // 5)) if MOST_EXAMPLES else EXAMPLES,
    stateful_step_count=STEPS,
    report_multiple_bugs=False,  # one find is told at once: looking for a second takes minutes
    phases=[Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


def test_any_life_leaves_a_sound_farm_that_is_what_was_accepted(db: None):
    run_state_machine_as_test(Life, settings=LIVES)
