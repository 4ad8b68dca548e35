"""What the database refuses by itself, whatever the code above it does."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction

from farm.models import (
    Away,
    Batch,
    CountEntry,
    Housing,
    Member,
    Observation,
    PersonalLink,
    Stay,
    guards,
)
from tests.conftest import NOON, TODAY, World

NEVER = "member_child_never_hot_work"


def refused(act) -> str:
    """Return what the database says when `act` is tried; fail when it lets it pass."""
    with pytest.raises(DatabaseError) as caught, transaction.atomic():
        act()
    return str(caught.value)


def stay_of(world: World, batch: Batch, housing: str, start: int, end: int | None, **fields) -> Stay:
    return Stay(
        farm=world.farm,
        batch=batch,
        housing=world.housing[housing],
        birds=1,
        start=TODAY + timedelta(days=start),
        end=None if end is None else TODAY + timedelta(days=end),
        **fields,
    )


def test_a_stay_never_links_a_batch_to_another_farms_housing(world: World, elsewhere: World):
    batch = world.add_batch("Browns")
    theirs = elsewhere.add_housing("Theirs")

    stay = stay_of(world, batch, "Brooder 1", 0, 5)
    stay.housing = theirs

    assert guards.OTHER_FARM in refused(stay.save)


def test_a_link_is_judged_when_it_is_changed_too(world: World, elsewhere: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    theirs = elsewhere.add_batch("Reds")
    stay = batch.stays.get()

    assert guards.OTHER_FARM in refused(lambda: Stay.objects.filter(pk=stay.pk).update(batch=theirs))


def test_a_whole_record_cannot_be_handed_to_another_farm(world: World, elsewhere: World):
    batch = world.add_batch("Browns", housing="Brooder 1")

    handed = Stay.objects.filter(batch=batch)

    assert guards.OTHER_FARM in refused(lambda: handed.update(farm=elsewhere.farm))


def test_a_count_entry_may_name_no_housing_at_all(world: World):
    batch = world.add_batch("Browns")

    entry = CountEntry.objects.create(
        farm=world.farm, batch=batch, kind="died", birds=-1, day=TODAY, created_at=NOON
    )

    assert entry.housing is None


def test_every_link_named_in_the_guards_exists_in_the_database(world: World):
    with connection.cursor() as cursor:
        for table, column, target in guards.LINKS:
            found = {row.name for row in connection.introspection.get_table_description(cursor, table)}
            assert {column, "farm_id"} <= found, (table, column)
            assert target in connection.introspection.table_names(cursor)


def test_a_ledger_never_sums_to_fewer_than_no_birds(world: World):
    batch = world.add_batch("Browns", birds=10)

    def lose() -> None:
        CountEntry.objects.create(
            farm=world.farm, batch=batch, kind="died", birds=-11, day=TODAY, created_at=NOON
        )

    assert guards.BELOW_ZERO in refused(lose)


def test_a_ledger_may_come_down_to_no_birds(world: World):
    batch = world.add_batch("Browns", birds=10)

    CountEntry.objects.create(
        farm=world.farm, batch=batch, kind="sold", birds=-10, day=TODAY, created_at=NOON
    )

    assert sum(entry.birds for entry in batch.count_entries.all()) == 0


@pytest.mark.parametrize(
    ("kind", "birds"), [("died", 3), ("arrived", -3), ("sold", 0), ("hatched", 0), ("reversed", 2)]
)
def test_a_count_entrys_sign_fits_what_happened(world: World, kind: str, birds: int):
    batch = world.add_batch("Browns")
    entry = CountEntry(farm=world.farm, batch=batch, kind=kind, birds=birds, day=TODAY, created_at=NOON)

    assert "count_entry_sign_fits_kind" in refused(entry.save)


class TestOneBatchHousing:
    @pytest.fixture
    def pair(self, world: World) -> tuple[World, Batch, Batch]:
        one, other = world.add_batch("Browns"), world.add_batch("Reds")
        stay_of(world, one, "Pen 1", 0, 10, one_batch=True).save()
        return world, one, other

    @pytest.mark.parametrize(("start", "end"), [(9, 12), (-3, 1), (2, 4), (-3, None), (-5, 20)])
    def test_two_batches_never_overlap_there(self, pair, start: int, end: int | None):
        world, _one, other = pair

        said = refused(stay_of(world, other, "Pen 1", start, end, one_batch=True).save)

        assert guards.ONE_BATCH in said or "stay_one_batch" in said

    @pytest.mark.parametrize(("start", "end"), [(10, 12), (-3, 0), (10, None)])
    def test_half_open_days_may_touch(self, pair, start: int, end: int | None):
        world, _one, other = pair

        stay_of(world, other, "Pen 1", start, end, one_batch=True).save()

        assert Stay.objects.filter(housing=world.housing["Pen 1"]).count() == 2

    def test_two_parts_of_one_batch_may_be_there_together(self, pair):
        world, one, _other = pair

        stay_of(world, one, "Pen 1", 3, 6, one_batch=True).save()

        assert one.stays.count() == 2

    def test_a_stay_is_judged_when_its_days_change(self, pair):
        world, _one, other = pair
        later = stay_of(world, other, "Pen 1", 10, 12, one_batch=True)
        later.save()

        said = refused(lambda: Stay.objects.filter(pk=later.pk).update(start=TODAY))

        assert guards.ONE_BATCH in said or "stay_one_batch" in said


@pytest.mark.parametrize(
    ("make", "rule"),
    [
        (lambda w: stay_of(w, w.add_batch("B"), "Pen 1", 5, 5), "stay_ends_after_start"),
        (lambda w: Housing(farm=w.farm, name="x", area_m2=0, code="a"), "housing_area_sensible"),
        (lambda w: Housing(farm=w.farm, name="x", area_m2=1, kind="barn", code="a"), "housing_kind_known"),
        (lambda w: Member(farm=w.farm, name="x", role="boss"), "member_role_known"),
        (lambda w: Member(farm=w.farm, name="x", share=1001), "member_share_sensible"),
        (lambda w: Member(farm=w.farm, name="x", max_week_minutes=10_081), "member_week_has_so_many_minutes"),
        (lambda w: Away(farm=w.farm, member=w.keeper, start=TODAY, end=TODAY), "away_ends_after_start"),
        *(
            (lambda w, on=on: Member(farm=w.farm, name="x", role="child", **{on: True}), NEVER)
            for on in ("adult", "can_heat", "can_dose", "can_slaughter")
        ),
        (
            lambda w: Observation(farm=w.farm, kind="note", note="?", at=NOON),
            "observation_is_of_something",
        ),
        (
            lambda w: Observation(farm=w.farm, housing=w.housing["Pen 1"], kind="temperature", at=NOON),
            "observation_says_something",
        ),
    ],
)
def test_what_must_never_be_is_refused_by_name(world: World, make, rule: str):
    assert rule in refused(make(world).save)


def test_no_adult_with_hot_work_becomes_a_child_by_their_role_alone(world: World):
    assert NEVER in refused(lambda: Member.objects.filter(pk=world.keeper.pk).update(role="child"))


def test_a_child_may_carry_water_and_lift(world: World):
    child = Member(farm=world.farm, name="Kim", role="child", can_lift=True, can_water=True)
    child.save()

    assert child.abilities == {"lifting", "water"}


@pytest.mark.parametrize("model", [Away, PersonalLink])
def test_what_is_of_a_member_stays_on_their_farm(world: World, elsewhere: World, model: type):
    fields = {"start": TODAY, "end": TODAY + timedelta(days=1)} if model is Away else {"created_at": NOON}
    row = model(farm=world.farm, member=elsewhere.keeper, **fields)

    assert guards.OTHER_FARM in refused(row.save)


def test_two_links_never_have_the_same_secret(world: World):
    same = {"farm": world.farm, "member": world.keeper, "created_at": NOON, "token_sha256": "a" * 64}
    PersonalLink.objects.create(**same)

    assert "token_sha256" in refused(lambda: PersonalLink.objects.create(**same))


def test_the_guards_can_be_installed_again_and_again(world: World):
    guards.install(connection)
    guards.install(connection)

    batch = world.add_batch("Browns", birds=10)
    assert batch.pk
