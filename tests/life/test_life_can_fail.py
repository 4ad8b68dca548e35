"""The random life sees what it is there to see: with a guard off, or a write that lies, it comes to an end."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from farm.errors import BadInput
from farm.models import Housing
from farm.services import history, stale, writing
from tests.life.test_any_life import Life

pytestmark = pytest.mark.django_db


@pytest.fixture
def life(db: None) -> Iterator[Life]:
    """A life that has just begun: 24 birds in each of two housings."""
    found = Life()
    found.judge()
    yield found
    found.teardown()


def test_a_life_begins_with_birds_in_housings_and_follows_them(life: Life):
    assert sorted(life.model.heads.values()) == [24, 24]
    assert len(life.model.whole) == 2
    assert life.accepted == ["add housing"] * 3 + ["start batch"] * 2


def test_each_kind_of_step_does_something_and_the_farm_is_still_what_was_accepted(life: Life):
    life.move_whole_batch(which=0, to=2, later=3)
    life.move_some(which=1, start=1, to=0, birds=5, later=2)
    life.count_few(which=0, kind="died", birds=2, ago=0)
    life.take_a_line_back(which=0)
    life.tick(which=0, state="done", offset=0)
    life.propose_plan(adopted=False)
    life.add_own_chore(title=1, repeat="FREQ=DAILY", first=0)
    life.take_order(birds=4, first=0, days=3)
    life.hand_over(which=0, batch=0, birds=4, anyway=True)
    life.nights_pass(nights=4)
    life.undo(which=0)
    life.what_can_never_be(which=0)
    life.judge()
    life.judge_readers()

    assert life.accepted[5:] == [
        "move", "move", "count", "reverse count", "tick", "add own chore", "add order", "hand over", "undo",
    ]  # fmt: skip
    assert sorted(life.model.heads.values()) == [24, 24]


def test_a_rule_that_is_gone_is_found(life: Life, monkeypatch: pytest.MonkeyPatch):
    """A form of long ago overwrites what others saved since."""
    monkeypatch.setattr(stale, "check", lambda _row, _version: None)
    with pytest.raises(AssertionError, match="what can never be right was accepted"):
        life.what_can_never_be(which=0)


def test_a_refusal_that_leaves_something_behind_is_found(life: Life):
    def leaves() -> None:
        Housing.objects.filter(name="H6").update(area_m2=1)
        raise BadInput.at("", "refused, but too late")

    with pytest.raises(AssertionError):
        life.do(leaves)


def test_an_undo_that_forgets_a_row_is_found(life: Life, monkeypatch: pytest.MonkeyPatch):
    life.move_whole_batch(which=0, to=2, later=0)
    take_back = history._take_back
    monkeypatch.setattr(
        history,
        "_take_back",
        lambda log, change, made: None if change.before else take_back(log, change, made),
    )
    life.undo(which=0)
    with pytest.raises(AssertionError):
        life.judge()


def test_a_write_without_a_history_is_found(life: Life, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(writing, "_close", lambda _log, _verb: None)
    with pytest.raises(AssertionError, match="no history of"):
        life.count_few(which=0, kind="died", birds=1, ago=0)
