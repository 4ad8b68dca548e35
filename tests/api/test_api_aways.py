"""Days away and reminders of members over the API."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.models import Away, Member, ReminderWishes
from farm.services import aways, members
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World

DAYS = {"start": "2026-05-04", "end": "2026-05-06"}


@pytest.fixture
def eve(world: World) -> Member:
    """A helper without a login."""
    return members.add(world.by, name="Eve", role="helper")


def test_days_away_are_entered_listed_and_taken_back(world: World, eve: Member, program: Program):
    made = program.post(f"/members/{eve.pk}/aways/", DAYS | {"note": "at the sea"})

    away = Away.objects.get()
    assert (made.status_code, made["Location"]) == (201, f"/api/v1/aways/{away.pk}/")
    assert made.json() == {"id": away.pk, "member_id": eve.pk, **DAYS, "note": "at the sea", "outside": False}
    assert program.get(f"/aways/{away.pk}/").json() == made.json()
    assert program.get(f"/members/{eve.pk}/aways/").json()["items"] == [made.json()]
    assert program.get(f"/members/{eve.pk}/").json()["away"] == [made.json()]
    assert program.delete(f"/aways/{away.pk}/").status_code == 204
    assert not Away.objects.exists()


@pytest.mark.parametrize(
    ("field", "value"),
    [("end", "2026-05-04"), ("end", "2030-01-01"), ("start", "2030-01-01"), ("note", "x" * 101)],
)
def test_days_nobody_is_away_are_refused_at_their_field(
    eve: Member, program: Program, field: str, value: object
):
    reply = program.post(f"/members/{eve.pk}/aways/", DAYS | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert not Away.objects.exists()


def test_a_child_enters_days_away_of_its_own_alone(world: World, eve: Member):
    child = child_program(world)
    tim = Member.objects.get(name="Tim")
    theirs = aways.add(world.by, member_id=eve.pk, start=TODAY, end=TODAY + timedelta(days=1))

    assert child.post(f"/members/{tim.pk}/aways/", DAYS).status_code == 201
    assert child.post(f"/members/{eve.pk}/aways/", DAYS).status_code == 403
    assert child.get(f"/members/{eve.pk}/aways/").status_code == 403
    assert child.get(f"/aways/{theirs.pk}/").status_code == 403
    assert child.delete(f"/aways/{theirs.pk}/").status_code == 403
    assert Away.objects.count() == 2


def test_reminders_begin_as_suits_most_and_are_kept_once_changed(world: World, program: Program):
    path = f"/members/{world.keeper.pk}/reminders/"
    first = program.get(path)
    assert (first.json()["saved"], first.json()["morning_at"], first.json()["version"]) == (
        False,
        "06:30:00",
        0,
    )

    assert program.patch(path, {"evening_at": None}).status_code == 428
    changed = program.patch(path, {"evening_at": None}, seen=first)

    assert changed.json() == first.json() | {"saved": True, "version": 1, "evening_at": None}
    assert program.get(path).json() == changed.json()
    assert program.patch(path, {"missed": False}, seen=first).status_code == 412
    assert ReminderWishes.objects.get().missed is True


def test_half_quiet_hours_are_refused(world: World, program: Program):
    path = f"/members/{world.keeper.pk}/reminders/"

    assert program.patch(path, {"quiet_from": None}, If_Match="*").status_code == 422
    assert wrong(program.patch(path, {"outlook_weekday": 7}, If_Match="*")).keys() == {"#/outlook_weekday"}
    assert not ReminderWishes.objects.exists()


def test_who_signs_in_sets_their_reminders_themselves(world: World, eve: Member, program: Program):
    bob = world.add_member("Bob", "helper")

    assert program.get(f"/members/{bob.member.pk}/reminders/").status_code == 404
    assert program.patch(f"/members/{eve.pk}/reminders/", {"missed": False}, If_Match="*").status_code == 200
    assert Program(bob).get(f"/members/{eve.pk}/reminders/").status_code == 403
