"""What a farm must come to by what it accepted, kept in plain Python: no record and no rule of the farm is asked.

Heads are sums of accepted lines, the rest is what was last accepted. Undo is done here too: what an entry did is done
backwards, and only when nobody did anything to it since.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

#: Where all birds of a batch are: housing, first day, day they leave it (None: not planned).
Spans = tuple[tuple[int, date, date | None], ...]
NOT_FOLLOWED = None


@dataclass(frozen=True)
class Effect:
    """One thing that one accepted write did. `heads` effects carry a number to add in `after`."""

    table: str  # batch, housing, own, mark, place, heads
    key: Any
    before: Any
    after: Any

    def backwards(self) -> Effect:
        if self.table == "heads":
            return Effect("heads", self.key, None, -self.after)
        return Effect(self.table, self.key, self.after, self.before)


@dataclass
class Model:
    """The tables by name, heads by batch, and what each history entry did."""

    tables: dict[str, dict[Any, Any]] = field(
        default_factory=lambda: {name: {} for name in ("batch", "housing", "own", "mark", "place")}
    )
    heads: dict[int, int] = field(default_factory=dict)
    lines: dict[int, tuple[int, int]] = field(default_factory=dict)  # count entry -> batch, signed birds
    whole: set[int] = field(default_factory=set)  # batches that only ever moved as a whole
    did: dict[int, list[Effect]] = field(default_factory=dict)
    undone: set[int] = field(default_factory=set)

    def gives(self, table: str, key: Any, after: Any) -> list[Effect]:
        """Return the effect of a row being `after` from now on; none when it is so already."""
        before = self.tables[table].get(key)
        return [] if before == after else [Effect(table, key, before, after)]

    def adds(self, batch: int, birds: int) -> list[Effect]:
        """Return the effect of so many birds more in a batch's ledger, fewer when below 0."""
        return [Effect("heads", batch, None, birds)]

    def accept(self, entry: int | None, effects: Sequence[Effect]) -> None:
        """Take over what a write did. A write without a history entry did nothing."""
        assert entry is not None or not effects, f"no history of {effects}"
        for effect in effects:
            if effect.table == "heads":
                self.heads[effect.key] = self.heads.get(effect.key, 0) + effect.after
            elif effect.after is None and effect.table != "place":
                self.tables[effect.table].pop(effect.key, None)
            else:
                self.tables[effect.table][effect.key] = effect.after
        if entry is not None:
            self.did[entry] = [*self.did.get(entry, []), *effects]

    def undo(self, entry: int, by: int) -> None:
        """Take back what `entry` did; `by` is the entry that says so."""
        assert entry not in self.undone, f"entry {entry} was undone twice"
        self.undone.add(entry)
        backwards = [effect.backwards() for effect in reversed(self.did[entry])]
        for effect in backwards:
            if effect.table in ("heads", "place"):
                continue
            now = self.tables[effect.table].get(effect.key)
            assert now == effect.before, f"{effect.table} {effect.key} is {now} by now, and was undone"
        gone = {effect.key for effect in backwards if effect.table == "batch" and effect.after is None}
        self.accept(by, [self._as_it_stands(effect, gone) for effect in backwards])

    def _as_it_stands(self, effect: Effect, gone: set[int]) -> Effect:
        """A batch that goes takes its ledger along; its first line may have been taken back before.

        A place several wrote to goes back by stays, not as a whole: no longer followed.
        """
        if effect.table == "heads" and effect.key in gone:
            assert self.heads[effect.key] in (0, -effect.after), f"batch {effect.key} went with birds in it"
            return Effect("heads", effect.key, None, -self.heads[effect.key])
        if effect.table != "place" or self.tables["place"].get(effect.key) == effect.before:
            return effect
        return Effect("place", effect.key, self.tables["place"].get(effect.key), NOT_FOLLOWED)


def moved(spans: Spans, to: int, day: date) -> Spans:
    """Return the spans of a batch that goes to another housing as a whole on `day`.

    It takes over the days of the span it leaves, and those planned in the same housing right after.
    """
    left = next(span for span in spans if covers(span, day))
    end = left[2]
    ahead = [span for span in spans if end is not None and span[:2] == (to, end)]
    rest = [span for span in spans if span != left and span not in ahead]
    stayed = [(left[0], left[1], day)] if left[1] < day else []
    return tuple(sorted([*rest, *stayed, (to, day, ahead[0][2] if ahead else end)], key=lambda span: span[1]))


def covers(span: tuple[int, date, date | None], day: date) -> bool:
    return span[1] <= day and (span[2] is None or day < span[2])


def by_day(spans: Iterable[tuple[int, date, date | None]], first: date, days: int) -> list[list[int]]:
    """Return the housings that hold birds of a batch on each day."""
    window = [first + timedelta(days=n) for n in range(days)]
    rows = list(spans)
    return [sorted({span[0] for span in rows if covers(span, day)}) for day in window]
