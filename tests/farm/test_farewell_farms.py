"""A farm is closed, kept after all, or gone with everything that was ever written of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.apps import apps
from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.db import connection
from django.db.models import FileField

from calendars import editions
from calendars import services as calendars
from calendars.dav import passwords
from calendars.incoming import queries as outer
from calendars.models import CalendarLink
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Change, Channel, Farm, HistoryEntry, Login, Member
from farm.models.history import Face
from farm.services import batches, farms, history, personal_links
from farm.services.actor import system
from farm.services.farewell import farms as farewell
from farm.services.farewell.rows import of_a_farm
from farm.services.reminders import clock as reminder_clock
from tests.architecture.addresses import things
from tests.conftest import NOON, TODAY, World, actor
from tests.farm.farewell_world import rows_of, tables_naming_a_farm, whole

DUE = NOON + timedelta(days=30)


def close(world: World) -> None:
    farewell.close(world.by, name=world.farm.name)
    world.farm.refresh_from_db()


def test_closing_asks_for_the_name_as_it_stands_whatever_its_case(world: World):
    before = whole(world.farm.pk)
    with pytest.raises(BadInput) as refused:
        farewell.close(world.by, name="Hollow")
    assert list(refused.value.fields) == ["name"]
    assert whole(world.farm.pk) == before

    assert farewell.close(world.by, name=" hollow farm ") == TODAY + timedelta(days=30)


def test_only_a_keeper_closes_or_keeps_a_farm(world: World):
    hal = world.add_member("Hal", "helper")
    before = whole(world.farm.pk)
    for verb in (lambda: farewell.close(hal, name="Hollow Farm"), lambda: farewell.keep(hal)):
        with pytest.raises(NotAllowed):
            verb()
    assert whole(world.farm.pk) == before


def test_closing_twice_does_not_put_the_end_off(world: World):
    close(world)
    later = actor(world.farm, world.keeper, NOON + timedelta(days=9))

    assert farewell.close(later, name="Hollow Farm") == TODAY + timedelta(days=30)


def test_nothing_is_written_on_a_closed_farm(world: World):
    close(world)
    before = whole(world.farm.pk)
    with pytest.raises(NotFound):
        world.add_housing("Late")
    assert whole(world.farm.pk) == before


def test_a_farm_that_was_kept_is_as_it_was(world: World):
    before = Member.objects.filter(farm=world.farm).count()
    close(world)
    farewell.keep(world.by)

    assert Farm.objects.get(pk=world.farm.pk).closing_on is None
    assert farewell.remove(farm_id=world.farm.pk, now=DUE) == {}
    assert Member.objects.filter(farm=world.farm).count() == before
    world.add_housing("Late")


def test_closing_and_keeping_are_in_the_history_and_cannot_be_undone(world: World):
    close(world)
    farewell.keep(world.by)
    kept, closed = HistoryEntry.objects.filter(farm=world.farm)[:2]

    assert (closed.summary, kept.summary) == ("Farm closed", "Farm kept and opened again")
    for entry in (closed, kept):
        with pytest.raises(BadInput):
            history.undo(world.by, entry_id=entry.pk)


def test_what_others_hold_of_a_closed_farm_opens_nothing_until_it_is_kept(world: World):
    link, _secret = calendars.make_link(world.by, member_id=world.keeper.pk, label="phone")
    password, word = passwords.make(world.by, member_id=world.keeper.pk, label="tablet")
    secret = personal_links.make(world.by, member_id=world.keeper.pk, label="phone")
    name = passwords.user_name(world.keeper)

    def open_now() -> list[bool]:
        try:
            personal = bool(personal_links.opened(secret, now=NOON))
        except NotFound:
            personal = False
        calendar = editions.ended_at(CalendarLink.objects.select_related("farm").get(pk=link.pk))
        return [personal, passwords.opened(name, word) == password, calendar is None or calendar > NOON]

    assert open_now() == [True, True, True]
    close(world)
    assert open_now() == [False, False, False]
    farewell.keep(world.by)
    assert open_now() == [True, True, True]


def test_a_closed_farms_calendars_are_not_called_ended_before_it_closed(world: World):
    link, _secret = calendars.make_link(world.by, member_id=world.keeper.pk, label="phone")
    close(world)

    ended = editions.ended_at(CalendarLink.objects.get(pk=link.pk))
    assert ended is not None
    assert NOON - timedelta(days=1) < ended <= NOON


def test_nobody_of_a_closed_farm_is_reminded(world: World, elsewhere: World):
    for each in (world, elsewhere):
        Channel.objects.create(farm=each.farm, member=each.keeper, kind="email", label="x", address="sealed")
    close(world)

    assert reminder_clock.to_look_at(NOON) == [elsewhere.farm.pk]
    assert outer.due(NOON) == []


def test_a_farm_is_due_by_its_own_calendar_and_not_before(world: World):
    close(world)
    midnight = DUE.replace(hour=22, minute=0) - timedelta(days=1)  # in Berlin the thirtieth day begins

    assert farewell.due(now=midnight - timedelta(minutes=1)) == []
    assert farewell.due(now=midnight) == [world.farm.pk]
    before = whole(world.farm.pk)
    assert farewell.remove(farm_id=world.farm.pk, now=midnight - timedelta(minutes=1)) == {}
    assert whole(world.farm.pk) == before


def test_no_row_of_a_removed_farm_is_left_in_any_table_and_another_farm_is_untouched(
    world: World, elsewhere: World
):
    things(world)
    things(elsewhere)
    LogEntry.objects.create(
        user=world.keeper.login,
        content_type=ContentType.objects.get_for_model(Member),
        object_id=str(world.keeper.pk),
        object_repr="Ada",
        action_flag=2,
    )
    close(world)
    others = whole(elsewhere.farm.pk)
    had = rows_of(world.farm.pk)
    assert len(had) > 35

    farewell.remove(farm_id=world.farm.pk, now=DUE)

    assert rows_of(world.farm.pk) == {}
    connection.check_constraints()
    assert whole(elsewhere.farm.pk) == others
    assert Change.objects.exclude(entry__farm=elsewhere.farm).count() == 0
    assert not LogEntry.objects.exists()
    assert Login.objects.filter(pk=world.keeper.login_id).exists()


def test_removing_twice_is_once(world: World):
    close(world)
    farewell.remove(farm_id=world.farm.pk, now=DUE)

    with pytest.raises(NotFound):
        farewell.remove(farm_id=world.farm.pk, now=DUE)


def test_every_table_with_a_farm_column_is_among_those_that_are_emptied():
    ours = {model._meta.db_table for model in of_a_farm()}

    assert set(tables_naming_a_farm_of_models()) <= ours
    assert "farm_change" in ours


def tables_naming_a_farm_of_models() -> list[str]:
    return [
        model._meta.db_table
        for model in apps.get_models(include_auto_created=True)
        if any(field.column == "farm_id" for field in model._meta.concrete_fields)
    ]


def test_the_database_knows_no_farm_column_that_no_model_has(world: World):
    assert sorted(tables_naming_a_farm()) == sorted(tables_naming_a_farm_of_models())


def test_nothing_outside_a_farm_points_into_one():
    inside = set(of_a_farm())
    outside = [
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models(include_auto_created=True)
        if model not in inside and model is not Farm
        for field in model._meta.concrete_fields
        if field.related_model in inside | {Farm}
    ]
    assert outside == []


def test_no_model_of_a_farm_keeps_files_beside_the_database():
    files = [
        f"{model._meta.label}.{field.name}"
        for model in of_a_farm()
        for field in model._meta.concrete_fields
        if isinstance(field, FileField)
    ]
    assert files == []


def test_a_job_that_comes_for_a_closed_farm_finds_it_gone(world: World):
    close(world)
    with pytest.raises(NotFound):
        batches.start(
            system(world.farm, face=Face.JOB, now=NOON),
            new=batches.NewBatch(name="B", birds=3, programme="duck", hatch_day=TODAY, housing_id=None),
        )


def test_settings_of_a_closed_farm_are_not_changed(world: World):
    close(world)
    with pytest.raises(NotFound):
        farms.change(world.by, name="Other Farm")
