"""Making and switching off calendar links: who may, what is kept, what is refused."""

import hashlib
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from calendars import queries, services
from calendars.models import CalendarLink
from calendars.services import MOST_LINKS
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import HistoryEntry
from farm.services import members
from tests.calendars.conftest import subscribe
from tests.conftest import NOON


def test_a_links_secret_has_192_bits_and_only_its_hash_is_stored(world):
    link, secret = services.make_link(world.by, member_id=world.keeper.pk, label="phone")
    assert len(secret) == 32
    assert link.token_sha256 == hashlib.sha256(secret.encode()).hexdigest()
    stored = CalendarLink.objects.values().get()
    assert secret not in str(stored)


def test_no_trace_of_the_secret_is_left_in_the_history(world):
    _link, secret = services.make_link(world.by, member_id=world.keeper.pk, label="phone")
    entry = HistoryEntry.objects.latest("pk")
    assert entry.summary == "Calendar link “phone” made for Ada"
    assert secret not in str([change.after for change in entry.changes.all()])


def test_the_addresses_are_short_and_keep_the_secret_in_the_path(settings):
    settings.ADDRESS = "https://featherdays.our-village-cooperative.example"
    found = queries.addresses("s" * 32)
    assert found.https == f"https://featherdays.our-village-cooperative.example/c/{'s' * 32}.ics"
    assert found.webcal == found.https.replace("https", "webcal")
    assert len(found.https) < 110


def test_a_link_is_found_by_its_secret_alone(world):
    app = subscribe(world.by)
    assert queries.find(app.secret) == app.link
    assert queries.find(app.secret[:-1] + "?") is None
    assert queries.find(app.link.token_sha256) is None


def test_a_member_makes_their_own_link_and_not_another_members(world):
    helper = world.add_member("Ben", "helper")
    assert services.make_link(helper, member_id=helper.member.pk, label="phone")[0].member == helper.member
    with pytest.raises(NotAllowed):
        services.make_link(helper, member_id=world.keeper.pk, label="phone")
    assert CalendarLink.objects.count() == 1


def test_a_keeper_makes_one_for_a_child_without_a_login(world):
    child = world.add_member("Kim", "child", login=False)
    link, _secret = services.make_link(world.by, member_id=child.member.pk, label="tablet")
    assert (link.member, link.scope) == (child.member, "mine")


def test_a_child_gets_no_calendar_of_the_whole_farm(world):
    child = world.add_member("Kim", "child")
    with pytest.raises(BadInput) as refused:
        services.make_link(world.by, member_id=child.member.pk, label="tablet", scope="farm")
    assert list(refused.value.fields) == ["scope"]
    assert not CalendarLink.objects.exists()


@pytest.mark.parametrize(
    "field, value", [("label", " "), ("label", "x" * 61), ("language", "tlh"), ("scope", "everything")]
)
def test_a_wrong_field_is_named_and_nothing_is_made(world, field, value):
    fields = {"member_id": world.keeper.pk, "label": "phone"} | {field: value}
    with pytest.raises(BadInput) as refused:
        services.make_link(world.by, **fields)
    assert list(refused.value.fields) == [field]
    assert not CalendarLink.objects.exists()


def test_another_farms_member_is_not_found(world, elsewhere):
    with pytest.raises(NotFound):
        services.make_link(world.by, member_id=elsewhere.keeper.pk, label="phone")


def test_a_member_who_left_gets_no_link(world):
    helper = world.add_member("Ben", "helper")
    members.leave(world.by, member_id=helper.member.pk)
    with pytest.raises(NotFound):
        services.make_link(world.by, member_id=helper.member.pk, label="phone")


def test_there_is_a_most_of_live_links_and_switching_one_off_makes_room(world):
    apps = [subscribe(world.by) for _ in range(MOST_LINKS)]
    with pytest.raises(BadInput):
        subscribe(world.by)
    services.revoke_link(world.by, link_id=apps[0].link.pk)
    assert subscribe(world.by).link.revoked_at is None


def test_switching_off_twice_keeps_the_first_instant(world):
    app = subscribe(world.by)
    first = services.revoke_link(world.by, link_id=app.link.pk).revoked_at
    assert services.revoke_link(world.by, link_id=app.link.pk).revoked_at == first == NOON


def test_a_keeper_switches_anybodys_link_off_others_only_their_own(world):
    helper, child = world.add_member("Ben", "helper"), world.add_member("Kim", "child")
    bens, kims = subscribe(helper), subscribe(child, scope="mine")
    with pytest.raises(NotFound):
        services.revoke_link(helper, link_id=kims.link.pk)
    assert services.revoke_link(child, link_id=kims.link.pk).revoked_at == NOON
    assert services.revoke_link(world.by, link_id=bens.link.pk).revoked_at == NOON


def test_another_farms_link_is_not_found(world, elsewhere):
    theirs = subscribe(elsewhere.by)
    with pytest.raises(NotFound):
        services.revoke_link(world.by, link_id=theirs.link.pk)
    assert CalendarLink.objects.get().revoked_at is None


def test_the_links_page_shows_a_keeper_all_links_and_others_their_own(world, elsewhere):
    helper = world.add_member("Ben", "helper")
    adas, bens = subscribe(world.by), subscribe(helper)
    subscribe(elsewhere.by)
    assert list(queries.links_seen_by(world.keeper)) == [adas.link, bens.link]
    assert list(queries.links_seen_by(helper.member)) == [bens.link]


def test_the_database_refuses_one_token_twice(world):
    link = subscribe(world.by).link
    link.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        link.save(force_insert=True)


def test_use_is_noted_once_a_day_and_never_goes_back(world, django_assert_num_queries):
    link, today = subscribe(world.by).link, NOON.date()
    services.used(link, today)
    link.refresh_from_db()
    with django_assert_num_queries(0):
        services.used(link, today)
    services.used(link, today - timedelta(days=1))
    assert CalendarLink.objects.get().last_used_on == today
