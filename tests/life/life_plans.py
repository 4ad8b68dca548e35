"""The part of a random life that is about plans, orders, ticks and the keeper's own chores."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from farm.planning.window import Window
from farm.queries import agenda
from farm.services import chores, fillings, orders, own_chores, plans
from farm.services.orders import NewLine, NewOrder
from tests.life.life_world import FREE, Lived

WHICH, SOME = st.integers(0, 5), st.integers(1, 30)


class Planned(Lived):
    """Rules that ask the planner, customers and the keeper."""

    @rule(adopted=st.booleans())
    def propose_plan(self, adopted):
        made = self.do(lambda: plans.propose(self.by, iterations=3))
        if made is not None:
            plans.solve_now(self.by, plan_id=made.pk, now=lambda: self.by.now, iterations=3)
            self.plans.append(made.pk)
            if adopted:
                self.adopt_plan(which=0)

    @precondition(lambda self: self.plans)
    @rule(which=WHICH)
    def adopt_plan(self, which):
        key = self.plans[-1 - which % len(self.plans)]
        self.do(
            lambda: plans.adopt(self.by, plan_id=key, seen_version=None),
            lambda entry: self.places(*self.model.tables["batch"]) if entry is not None else [],
        )

    @precondition(lambda self: self.plans)
    @rule(which=WHICH)
    def drop_plan(self, which):
        self.do(lambda: plans.drop(self.by, plan_id=self.plans[which % len(self.plans)]))

    @rule(birds=SOME, first=st.integers(-1, 3), days=st.integers(0, 9))
    def take_order(self, birds, first, days):
        line = NewLine(
            programme="chicken_layer_brown",
            birds=birds,
            from_on=self.day(first),
            to_on=self.day(first + days),
            age_from_days=0,
            age_to_days=400,
        )
        made = self.do(lambda: orders.add(self.by, new=NewOrder(customer="Meadow Farm", lines=[line])))
        if made is not None:
            self.orders.append((made.pk, made.lines.get().pk))

    @precondition(lambda self: self.orders)
    @rule(which=WHICH, batch=WHICH, birds=SOME, anyway=st.booleans())
    def hand_over(self, which, batch, birds, anyway):
        line, key = self.orders[which % len(self.orders)][1], self.pick("batch", batch)
        asked = {"line_id": line, "batch_id": key, "birds": birds, "day": self.day(0), "anyway": anyway}

        def effects(filling):
            self.given.append(filling.pk)
            self.learn_lines(key)
            return self.model.adds(key, -birds)

        self.do(lambda: fillings.hand_over(self.by, **asked), effects)

    @precondition(lambda self: self.given)
    @rule(which=WHICH)
    def take_back(self, which):
        key = self.given[which % len(self.given)]
        there = self.filled(key)

        def effects(_none):
            self.learn_lines(there[0])
            return self.model.adds(*there)

        self.do(lambda: fillings.take_back(self.by, filling_id=key), effects)

    @precondition(lambda self: self.orders)
    @rule(which=WHICH, status=st.sampled_from(["cancelled", "confirmed", "filled", "quote"]))
    def set_status(self, which, status):
        key = self.orders[which % len(self.orders)][0]
        self.do(lambda: orders.set_status(self.by, order_id=key, status=status, **FREE))

    @rule(
        title=WHICH,
        repeat=st.sampled_from(["", "FREQ=DAILY", "FREQ=WEEKLY;BYDAY=SA"]),
        first=st.integers(-2, 5),
    )
    def add_own_chore(self, title, repeat, first):
        fields = {
            "round": "morning",
            "minutes": 5,
            "who": "helper",
            "repeat": repeat,
            "start": self.day(first),
        }
        self.do(
            lambda: own_chores.add(self.by, title=f"C{title}", **fields),
            lambda made: self.model.gives("own", made.pk, (f"C{title}", False)),
        )

    @precondition(lambda self: self.model.tables["own"])
    @rule(which=WHICH, how=st.sampled_from(["title", "round", "end", "remove"]))
    def change_own_chore(self, which, how):
        key = self.pick("own", which)
        title = self.model.tables["own"][key][0]
        if how == "end":
            self.do(
                lambda: own_chores.end(self.by, chore_id=key),
                lambda _row: self.model.gives("own", key, (title, True)),
            )
        elif how == "remove":
            self.do(
                lambda: own_chores.remove(self.by, chore_id=key),
                lambda _none: self.model.gives("own", key, None),
            )
        else:
            self._change_own_chore(key, title, {how: "C9" if how == "title" else "evening"})

    def _change_own_chore(self, key, title, fields):
        now = (fields.get("title", title), False)

        def effects(row):
            """Ticked before, it ends and another begins in its place."""
            if row.pk == key:
                return self.model.gives("own", key, now)
            return [*self.model.gives("own", key, (title, True)), *self.model.gives("own", row.pk, now)]

        self.do(lambda: own_chores.change(self.by, chore_id=key, **FREE, **fields), effects)

    @rule(which=st.integers(0, 30), state=st.sampled_from(["done", "skipped"]), offset=st.integers(-1, 2))
    def tick(self, which, state, offset):
        day = self.day(offset)
        items = agenda.for_farm(self.world.farm, Window(day, 1), self.by.today)
        if items:
            source, due, part = key = items[which % len(items)].occurrence
            asked = {"source": source, "due": due, "round": part, "state": state, "title": "x"}
            said = self.model.tables["mark"].get(key, state)  # the first mark stands
            self.do(lambda: chores.mark(self.by, **asked), lambda _mark: self.model.gives("mark", key, said))

    @precondition(lambda self: self.model.tables["mark"])
    @rule(which=WHICH)
    def untick(self, which):
        source, due, part = key = self.pick("mark", which)
        self.do(
            lambda: chores.unmark(self.by, source=source, due=due, round=part),
            lambda _none: self.model.gives("mark", key, None),
        )
