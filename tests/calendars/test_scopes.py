"""What each kind of calendar holds: one housing's, one batch's, orders and hatches, the outlook; and for whom."""

import re

import pytest
from django.db import IntegrityError, transaction

from calendars import editions
from calendars.choices import Scope
from calendars.models import CalendarBody, CalendarLink
from farm.errors import BadInput, NotFound
from farm.models import Batch, Stay
from farm.services import housings, members, stays
from tests.calendars.conftest import subscribe
from tests.calendars.linter import problems
from tests.calendars.test_build import events
from tests.conftest import NOON
from tests.farm.egg_world import cabinet, put_in
from tests.farm.judging import day
from tests.farm.orders_world import take

LATER = NOON.replace(hour=12)


@pytest.fixture
def busy(farm):
    """Spring in Brooder 1, to be moved to Pen 1; Summer in Brooder 2; eggs in a cabinet; an order."""
    farm.add_batch("Summer", housing="Brooder 2", age=2, birds=20)
    spring = Batch.objects.get(name="Spring")
    places = {"from_id": farm.housing["Brooder 1"].pk, "to_id": farm.housing["Pen 1"].pk}
    stays.move(farm.by, batch_id=spring.pk, birds=40, day=day(40), **places)
    put_in(farm, cabinet(farm), name="E9")
    take(farm)
    return farm


def holds(world, scope, **fields):
    return events(subscribe(world.by, scope=scope, **fields))


def test_one_housings_calendar_holds_what_is_done_in_it_and_nothing_else(busy):
    found = holds(busy, "housing", housing_id=busy.housing["Brooder 2"].pk)
    assert found
    assert all("Brooder 2" in text for text in found.values())
    assert not [text for text in found.values() if "Brooder 1" in text or "Pen 1" in text]


def test_one_batchs_calendar_follows_it_through_its_housings(busy):
    spring = Batch.objects.get(name="Spring")
    found = holds(busy, "batch", batch_id=spring.pk)
    texts = "".join(found.values())
    assert "LOCATION:Brooder 1" in texts
    assert "LOCATION:Pen 1" in texts
    assert "Brooder 2" not in texts


def test_orders_and_hatches_hold_eggs_and_hand_overs_and_no_rounds(busy):
    kinds = {uid.split(":")[1] for uid in holds(busy, "orders")}
    assert kinds == {"line", "eggs"}


def test_the_outlook_holds_moves_hatches_and_pick_ups_only(busy):
    found = holds(busy, "outlook")
    jobs = {uid.split("@")[0].split("/")[1] for uid in found}
    assert jobs - {"move_due"} == {"move", "hatch", "hand_over"}
    kinds = "".join(found.values())
    for category in ("CATEGORIES:Step,Move", "CATEGORIES:Step,Hatch", "CATEGORIES:Step,Pick-up"):
        assert category in kinds


@pytest.mark.parametrize("scope", list(Scope))
def test_every_kind_is_a_sound_calendar_within_the_whole_farms(busy, scope):
    about = {
        "housing_id": busy.housing["Brooder 1"].pk,
        "batch_id": Batch.objects.get(name="Spring").pk,
    }
    app = subscribe(busy.by, scope=scope, **about)
    assert problems(app.get().content) == []
    steps = {uid for uid in events(app) if uid.startswith("step:")}
    assert steps <= holds(busy, "farm").keys()


def test_the_calendar_is_named_after_what_it_is_about(busy):
    app = subscribe(busy.by, scope="housing", housing_id=busy.housing["Brooder 2"].pk)
    text = app.get().content.decode().replace("\r\n ", "")
    assert "X-WR-CALNAME:Hollow Farm: Brooder 2\r\n" in text
    assert "Steps and rounds of Brooder 2." in text


def test_a_housing_taken_off_the_farm_cancels_what_was_ahead_and_the_calendar_says_so(busy):
    brooder = busy.housing["Brooder 2"]
    app = subscribe(busy.by, scope="housing", housing_id=brooder.pk)
    before = events(app)
    Stay.objects.filter(housing=brooder).delete()
    housings.remove(busy.by, housing_id=brooder.pk)
    text = app.get(LATER).content.decode().replace("\r\n ", "")
    assert "is no longer on the farm" in text
    after = events(app, LATER)
    assert after
    assert after.keys() <= before.keys()
    assert all("STATUS:CANCELLED" in event for event in after.values())
    assert problems(app.get(LATER).content) == []


@pytest.mark.parametrize("scope", ["farm", "housing", "batch", "orders", "outlook"])
def test_a_child_gets_none_of_them(busy, scope):
    child = busy.add_member("Kim", "child")
    about = {"housing_id": busy.housing["Brooder 1"].pk, "batch_id": Batch.objects.first().pk}
    with pytest.raises(BadInput) as refused:
        subscribe(child, scope=scope, **about)
    assert list(refused.value.fields) == ["scope"]


@pytest.mark.parametrize("scope", ["housing", "batch", "orders", "outlook"])
def test_a_helper_made_a_child_reads_their_own_from_then_on(busy, scope):
    helper = busy.add_member("Ben", "helper")
    about = {"housing_id": busy.housing["Brooder 1"].pk, "batch_id": Batch.objects.get(name="Spring").pk}
    app = subscribe(helper, scope=scope, **about)
    members.change(busy.by, member_id=helper.member.pk, expected_version=None, name="Ben", role="child")
    own = subscribe(helper, scope="mine")
    assert app.get().content == own.get().content
    assert "Check the heat" not in app.get().content.decode().replace("\r\n ", "")


@pytest.mark.parametrize("scope", ["housing", "batch"])
def test_which_one_has_to_be_said(farm, scope):
    with pytest.raises(BadInput) as refused:
        subscribe(farm.by, scope=scope)
    assert list(refused.value.fields) == [f"{scope}_id"]
    assert not CalendarLink.objects.exists()


def test_another_farms_housing_and_batch_are_not_found(farm, elsewhere):
    housing = elsewhere.add_housing("Far Brooder")
    batch = elsewhere.add_batch("Far", housing="Far Brooder")
    with pytest.raises(NotFound):
        subscribe(farm.by, scope="housing", housing_id=housing.pk)
    with pytest.raises(NotFound):
        subscribe(farm.by, scope="batch", batch_id=batch.pk)
    assert not CalendarLink.objects.exists()


def test_a_housing_named_for_another_kind_is_not_kept(farm):
    app = subscribe(farm.by, scope="farm", housing_id=farm.housing["Brooder 1"].pk)
    assert app.link.about is None


@pytest.mark.parametrize("scope, about", [("housing", None), ("batch", None), ("farm", 1), ("mine", 1)])
def test_the_database_refuses_a_kind_without_its_thing_and_a_thing_without_its_kind(farm, scope, about):
    link = subscribe(farm.by).link
    with pytest.raises(IntegrityError), transaction.atomic():
        CalendarLink.objects.filter(pk=link.pk).update(scope=scope, about=about)


def test_readers_of_the_same_kind_share_one_body_whoever_they_are(busy):
    helper = busy.add_member("Ben", "helper")
    one, other = subscribe(busy.by, scope="outlook"), subscribe(helper, scope="outlook")
    assert one.get().content == other.get().content
    assert CalendarBody.objects.count() == 1


def test_two_housings_are_two_editions(busy):
    names = {
        editions.of(subscribe(busy.by, scope="housing", housing_id=room.pk).link).name
        for room in busy.housing.values()
    }
    assert len(names) == len(busy.housing)


def test_a_step_opens_the_page_of_the_one_thing_it_is_about(busy):
    found = holds(busy, "farm")
    urls = {uid.split(":")[1]: text.split("URL:")[1].split("\r\n")[0] for uid, text in found.items()}
    assert "/hatching/" in urls["eggs"]
    assert "/orders/" in urls["line"]
    assert "/batches/" in urls["batch"]


def test_all_of_ones_own_opens_ones_own_page_for_one_tap(busy):
    found = events(subscribe(busy.by, scope="mine"))
    assert all("/my/?day=" in text for text in found.values())


def test_every_page_an_event_opens_is_there(busy, client, time_machine):
    time_machine.move_to(NOON, tick=False)
    client.force_login(busy.by.login)
    texts = [*holds(busy, "farm").values(), *holds(busy, "mine").values()]
    paths = {text.split("URL:")[1].split("\r\n")[0].split("localhost")[1].split("/", 1)[1] for text in texts}
    distinct = {path.split("?")[0]: path for path in sorted(paths)}
    assert len(distinct) >= 5
    answers = {path: client.get(f"/{path}", follow=True).status_code for path in distinct.values()}
    assert answers == dict.fromkeys(distinct.values(), 200)


def test_a_step_has_the_colour_of_its_birds_age_that_day(farm):
    farm.add_batch("Young", housing="Brooder 2", age=1, birds=10)
    steps = [text for uid, text in holds(farm, "farm").items() if uid.startswith("step:")]
    by_week = {}
    for text in steps:
        if match := re.search(r"\(week (\d+)\)", text.replace("\r\n ", "")):
            by_week.setdefault(int(match[1]), set()).add(re.search(r"COLOR:(\w+)", text)[1])
    assert by_week[1] == {"khaki"}
    assert by_week[max(by_week)] == {"sienna"}
    order = ["khaki", "sandybrown", "peru", "sienna"]
    places = [
        order.index(colour) for week in sorted(by_week) for colour in sorted(by_week[week], key=order.index)
    ]
    assert places == sorted(places)
