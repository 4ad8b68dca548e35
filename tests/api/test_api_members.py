"""Members over the API: listed, added, changed, invited, leaving; days away and reminders."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import mail
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Away, Invitation, Member, ReminderWishes
from farm.services import aways, members
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World

PRIVATE = (
    "can_heat",
    "can_lift",
    "can_water",
    "can_dose",
    "can_slaughter",
    "max_week_minutes",
    "prefers",
    "refuses",
)
NEW = {"name": "Eve", "role": "helper"}
DAYS = {"start": "2026-05-04", "end": "2026-05-06"}


@pytest.fixture
def eve(world: World) -> Member:
    """A helper without a login."""
    return members.add(world.by, name="Eve", role="helper")


def test_a_keeper_sees_all_that_is_known_of_a_member(world: World, eve: Member, program: Program):
    shown = program.get(f"/members/{eve.pk}/").json()

    assert shown == {
        "id": eve.pk,
        "version": 1,
        "name": "Eve",
        "role": "helper",
        "adult": False,
        "signs_in": False,
        "email": None,
        "invited_until": None,
        "rounds": list(range(21)),
        "share": 100,
        "away": [],
        "can_heat": False,
        "can_lift": False,
        "can_water": True,
        "can_dose": False,
        "can_slaughter": False,
        "max_week_minutes": None,
        "prefers": [],
        "refuses": [],
    }
    assert program.get(f"/members/{world.keeper.pk}/").json()["email"] == "ada@example.org"


def test_others_see_of_a_member_what_the_page_shows(world: World):
    child = child_program(world)

    shown = child.get(f"/members/{world.keeper.pk}/").json()
    own = child.get(f"/members/{Member.objects.get(name='Tim').pk}/").json()

    assert (shown["name"], shown["signs_in"], shown["email"]) == ("Ada", True, None)
    assert [name for name in PRIVATE if shown[name] is not None] == []
    assert (own["can_water"], own["prefers"]) == (True, [])


def test_a_member_is_added_as_is_usual_for_the_role(world: World, program: Program):
    reply = program.post("/members/", NEW | {"share": 50})

    eve = Member.objects.get(name="Eve")
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/members/{eve.pk}/")
    assert (eve.farm, eve.role, eve.share, eve.can_water, eve.can_heat) == (
        world.farm,
        "helper",
        50,
        True,
        False,
    )
    assert program.get(f"/members/{eve.pk}/").json() == reply.json()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", " "),
        ("role", "guest"),
        ("rounds", [21]),
        ("rounds", [1, 1]),
        ("share", 1001),
        ("max_week_minutes", 10_081),
        ("prefers", ["dance"]),
        ("left_on", "2026-05-01"),
    ],
)
def test_what_nobody_can_be_is_refused_at_its_field(
    world: World, program: Program, field: str, value: object
):
    reply = program.post("/members/", NEW | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert Member.objects.count() == 1


def test_two_members_of_one_name_are_refused(program: Program):
    reply = program.post("/members/", NEW | {"name": "Ada"})

    assert wrong(reply) == {"#": ["Somebody on this farm already has this name."]}
    assert Member.objects.count() == 1


def test_a_child_gets_no_heat_equipment(world: World, program: Program):
    reply = program.post("/members/", {"name": "Tim", "role": "child", "can_heat": True})

    assert list(wrong(reply)) == ["#/can_heat"]
    assert Member.objects.count() == 1


def test_a_change_needs_the_version_that_was_read_and_leaves_the_rest(eve: Member, program: Program):
    path = f"/members/{eve.pk}/"
    seen = program.get(path)

    assert program.patch(path, {"share": 40}).status_code == 428
    assert program.patch(path, {"share": 40, "rounds": [2, 0]}, seen=seen).json()["rounds"] == [0, 2]
    assert program.patch(path, {"share": 30}, seen=seen).status_code == 412
    eve.refresh_from_db()
    assert (eve.name, eve.role, eve.share) == ("Eve", "helper", 40)


def test_the_last_keeper_stays_keeper(world: World, program: Program):
    reply = program.patch(f"/members/{world.keeper.pk}/", {"role": "helper"}, If_Match="*")

    assert list(wrong(reply)) == ["#/role"]
    world.keeper.refresh_from_db()
    assert world.keeper.role == "keeper"


def test_an_invitation_is_shown_once_and_mailed_when_asked(eve: Member, program: Program):
    quiet = program.post(f"/members/{eve.pk}/invitation/", {})
    mailed = program.post(f"/members/{eve.pk}/invitation/", {"email": "eve@example.org"})

    assert (quiet.status_code, quiet.json()["sent"], quiet.json()["days"]) == (200, False, 14)
    assert mailed.json()["sent"] is True
    assert mail.outbox[0].to == ["eve@example.org"]
    assert mailed.json()["address"] in mail.outbox[0].body
    assert Invitation.objects.get().email == "eve@example.org"  # the older one is gone
    assert program.get(f"/members/{eve.pk}/").json()["invited_until"] == "2026-05-15T10:00:00Z"


def test_no_invitation_goes_to_what_is_no_address_or_who_signs_in(
    world: World, eve: Member, program: Program
):
    nowhere = program.post(f"/members/{eve.pk}/invitation/", {"email": "at home"})
    needless = program.post(f"/members/{world.keeper.pk}/invitation/", {})

    assert (list(wrong(nowhere)), list(wrong(needless))) == (["#/email"], ["#"])
    assert (mail.outbox, Invitation.objects.count()) == ([], 0)


def test_a_member_leaves_and_is_not_found_any_more(eve: Member, program: Program):
    assert program.post(f"/members/{eve.pk}/leave/").status_code == 204

    eve.refresh_from_db()
    assert eve.left_on == TODAY
    assert program.get(f"/members/{eve.pk}/").status_code == 404
    assert [row["name"] for row in program.get("/members/").json()["items"]] == ["Ada"]


def test_a_helper_takes_off_nobody_but_themselves(world: World, eve: Member):
    by = world.add_member("Bob", "helper")
    helper = Program(by)

    assert helper.post(f"/members/{eve.pk}/leave/").status_code == 403
    assert helper.post("/members/", NEW | {"name": "Joe"}).status_code == 403
    assert helper.patch(f"/members/{eve.pk}/", {"share": 1}, If_Match="*").status_code == 403
    assert helper.post(f"/members/{eve.pk}/invitation/", {}).status_code == 403
    assert Member.objects.filter(left_on__isnull=True).count() == 3
    assert helper.post(f"/members/{by.member.pk}/leave/").status_code == 204
    assert helper.get("/members/").status_code == 401


def test_a_token_without_the_people_changes_nobody(world: World, eve: Member):
    program = Program(world.by, "read", "record", "write")

    for reply in (
        program.post("/members/", NEW | {"name": "Joe"}),
        program.patch(f"/members/{eve.pk}/", {"share": 1}, If_Match="*"),
        program.post(f"/members/{eve.pk}/leave/"),
        program.post(f"/members/{eve.pk}/aways/", DAYS),
        program.patch(f"/members/{eve.pk}/reminders/", {"missed": False}, If_Match="*"),
    ):
        assert reply.status_code == 403
    assert (Member.objects.filter(left_on__isnull=True).count(), Away.objects.count()) == (2, 0)


def test_another_farms_members_are_not_found(elsewhere: World, program: Program):
    theirs = elsewhere.keeper
    away = aways.add(elsewhere.by, member_id=theirs.pk, start=TODAY, end=TODAY + timedelta(days=1))

    for reply in (
        program.get(f"/members/{theirs.pk}/"),
        program.patch(f"/members/{theirs.pk}/", {"share": 1}, If_Match="*"),
        program.post(f"/members/{theirs.pk}/invitation/", {}),
        program.post(f"/members/{theirs.pk}/leave/"),
        program.get(f"/members/{theirs.pk}/aways/"),
        program.post(f"/members/{theirs.pk}/aways/", DAYS),
        program.get(f"/aways/{away.pk}/"),
        program.delete(f"/aways/{away.pk}/"),
        program.get(f"/members/{theirs.pk}/reminders/"),
        program.patch(f"/members/{theirs.pk}/reminders/", {"missed": False}, If_Match="*"),
    ):
        assert reply.status_code == 404
    assert (Away.objects.count(), ReminderWishes.objects.count()) == (1, 0)
    theirs.refresh_from_db()
    assert (theirs.share, theirs.left_on) == (100, None)


def test_more_members_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/members/").status_code == 200
        return len(seen)

    queries()
    few = queries()
    for number in range(6):
        member = members.add(world.by, name=f"Member {number}", role="helper")
        aways.add(world.by, member_id=member.pk, start=TODAY, end=TODAY + timedelta(days=2))

    assert queries() == few
