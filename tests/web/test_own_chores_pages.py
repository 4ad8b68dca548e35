"""The pages of own chores: the list, a form that needs no rule, the days shown before saving, ending and removing."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine

from farm.models import HistoryEntry, OwnChore
from farm.models.member import Role
from farm.planning import repeats
from farm.planning.repeats import Repeat
from farm.services import chores, own_chores
from farm.web.own_chores import repeating
from tests.conftest import NOON, TODAY, World
from tests.web.today_world import HTMX, day, sign_in, text_of

NEW = {
    "title": "Clean the nest boxes",
    "start": day(0),  # Friday, 1 May
    "round": "morning",
    "repeats": "once",
    "minutes": "15",
    "who": "helper",
}


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def keeper(world: World, client: Any) -> Any:
    return sign_in(client, world.by)


def send(client: Any, address: str = "/people/chores/new/", **typed: Any) -> Any:
    return client.post(address, NEW | typed)


def errors(answer: Any) -> dict[str, list[str]]:
    assert answer.status_code == 200
    return {name: list(map(str, texts)) for name, texts in answer.context["form"].errors.items()}


def shown_days(answer: Any) -> list[date]:
    return list(answer.context["preview"].days)


def made(world: World, **fields: Any) -> OwnChore:
    return own_chores.add(world.by, **({"title": "Oil the hinges", "start": TODAY, "minutes": 10} | fields))


def test_a_farm_without_own_chores_offers_one_clear_action(keeper):
    body = keeper.get("/people/chores/").content.decode()
    assert body.count('class="button primary"') == 1
    assert 'href="/people/chores/new/">Add your first chore' in body


def test_the_list_says_what_where_how_often_when_next_how_long_and_who(keeper, world):
    made(world, repeat="FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", place="feed store", minutes=25, who="adult")
    text = text_of(keeper.get("/people/chores/"))
    for said in (
        "Oil the hinges",
        "feed store",
        "Every 2 weeks on Monday, morning",
        "Next: Mon 11 May 2026",
        "25 min, adults only",
    ):
        assert said in text


@pytest.mark.parametrize("role", [Role.HELPER, Role.CHILD])
def test_others_read_the_list_and_find_nothing_to_press(world, client, role):
    made(world)
    answer = sign_in(client, world.add_member("Bo", role)).get("/people/chores/")
    assert "Oil the hinges" in text_of(answer)
    assert "/people/chores/new/" not in answer.content.decode()
    assert "/end/" not in answer.content.decode()
    assert send(client).status_code == 403
    assert OwnChore.objects.count() == 1


def test_what_is_typed_is_what_is_kept(keeper, world):
    pen = world.housing["Pen 1"]
    answer = send(
        keeper,
        repeats="weekly",
        every="2",
        weekdays=["0", "3"],
        ends="after",
        count="6",
        exceptions=f"{day(13)}\n\n24.12.2026\n",
        housing_id=str(pen.pk),
        who="adult",
        needs=["lifting", "heat"],
        two_people="on",
        care="on",
        asks="note",
        checklist=" shovel \n\nfresh straw",
        round="evening",
    )
    assert (answer.status_code, answer.url) == (302, "/people/chores/")
    chore = OwnChore.objects.get()
    assert chore.repeat == "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH;COUNT=6"
    assert (chore.exceptions, chore.housing, chore.place) == ([day(13), "2026-12-24"], pen, "")
    assert (chore.who, chore.needs, chore.two_people, chore.care) == (
        "adult",
        ["heat", "lifting"],
        True,
        True,
    )
    assert (chore.asks, chore.checklist, chore.round, chore.minutes) == (
        "note",
        ["shovel", "fresh straw"],
        "evening",
        15,
    )


@pytest.mark.parametrize(
    ("typed", "rule"),
    [
        ({"repeats": "once", "every": "3"}, ""),
        ({"repeats": "daily", "every": "3"}, "FREQ=DAILY;INTERVAL=3"),
        ({"repeats": "daily", "every": ""}, "FREQ=DAILY"),
        ({"repeats": "weekly"}, "FREQ=WEEKLY"),
        ({"repeats": "monthday", "monthday": "-1"}, "FREQ=MONTHLY;BYMONTHDAY=-1"),
        ({"repeats": "monthday", "monthday": "15", "every": "2"}, "FREQ=MONTHLY;INTERVAL=2;BYMONTHDAY=15"),
        ({"repeats": "monthday", "monthday": ""}, "FREQ=MONTHLY"),
        ({"repeats": "nth", "nth": "-1", "nth_weekday": "4"}, "FREQ=MONTHLY;BYDAY=-1FR"),
        ({"repeats": "nth", "nth": "2", "nth_weekday": "0"}, "FREQ=MONTHLY;BYDAY=2MO"),
        ({"repeats": "daily", "ends": "on", "until": day(30)}, "FREQ=DAILY;UNTIL=20260531"),
        # What belongs to another way to repeat, or to another end, has no say and can't be wrong.
        ({"repeats": "daily", "weekdays": ["1"], "monthday": "9", "until": day(3)}, "FREQ=DAILY"),
        ({"repeats": "once", "every": "many", "ends": "on"}, ""),
        ({"repeats": "daily", "ends": "never", "count": "0", "until": "soon"}, "FREQ=DAILY"),
        ({"repeats": "daily", "repeat": " freq=weekly;byday=mo "}, "FREQ=WEEKLY;BYDAY=MO"),
        ({"repeats": "daily", "every": "x", "repeat": "RRULE:FREQ=DAILY"}, "FREQ=DAILY"),
    ],
)
def test_every_way_to_repeat_becomes_its_rule(keeper, typed, rule):
    assert send(keeper, **typed).status_code == 302
    assert OwnChore.objects.get().repeat == rule


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"title": " "}, "title", ""),
        ({"start": day(-1)}, "start", "This day is over."),
        ({"start": "2199-01-01"}, "start", "This day is too far away."),
        ({"repeats": "daily", "every": "0"}, "every", ""),
        ({"repeats": "daily", "every": "367"}, "every", ""),
        ({"repeats": "weekly", "weekdays": ["9"]}, "weekdays", ""),
        ({"repeats": "daily", "ends": "on"}, "until", "Choose the last day."),
        (
            {"repeats": "daily", "ends": "on", "until": day(-2)},
            "until",
            "The last day comes before the first.",
        ),
        ({"repeats": "daily", "ends": "after"}, "count", "Write how many times."),
        ({"repeats": "daily", "ends": "after", "count": "1001"}, "count", ""),
        ({"repeats": "daily", "exceptions": "Christmas"}, "exceptions", "This is no day: Christmas"),
        (
            {"repeats": "daily", "exceptions": "\n".join(day(n) for n in range(21))},
            "exceptions",
            "At most 20 days can be left out.",
        ),
        ({"repeats": "daily", "ends": "after", "count": "1", "exceptions": day(0)}, "start", "never be due"),
        ({"repeat": "every Monday"}, "repeat", "is not a name and a value"),
        ({"repeat": "FREQ=SECONDLY"}, "repeat", "A chore comes once a day at most"),
        ({"repeat": "FREQ=YEARLY"}, "repeat", "Write FREQ=MONTHLY;INTERVAL=12 for once a year"),
        ({"repeat": "FREQ=DAILY;" * 30}, "repeat", "A rule has at most 200 characters"),
        ({"repeat": "FREQ=DAILY;UNTIL=20260401"}, "repeat", "The last day is before the first"),
        (
            {"repeat": "FREQ=MONTHLY;BYMONTHDAY=30;INTERVAL=12", "start": "2027-02-01"},
            "repeat",
            "No such day",
        ),
        ({"minutes": "0"}, "minutes", ""),
        ({"who": "child", "needs": ["heat"]}, "who", "heat equipment, medicine and slaughter"),
        ({"place": "barn", "housing_id": "PEN"}, "place", "Choose a housing or write a place, not both."),
        ({"checklist": "x" * 121}, "checklist", "up to 20 lines"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_nothing_typed_is_lost(keeper, world, typed, field, said):
    typed = {
        name: str(world.housing["Pen 1"].pk) if value == "PEN" else value for name, value in typed.items()
    }
    answer = send(keeper, **({"checklist": "shovel\nstraw"} | typed))
    found = errors(answer)
    assert list(found) == [field]
    assert said in " ".join(found[field])
    assert not OwnChore.objects.exists()
    form = answer.context["form"]
    for name, value in typed.items():
        assert form[name].value() == value
    assert "Clean the nest boxes" in answer.content.decode() or field == "title"
    # The field is in sight: nothing that was refused stays folded away.
    body = answer.content.decode()
    assert (re.search(r"<details open><summary>For those who know", body) is not None) == ("repeat" in typed)


def test_a_rule_that_is_refused_is_never_run_as_markup(keeper):
    answer = send(keeper, repeat="<script>alert(1)</script>", title="<b>x</b>")
    assert "<script>alert" not in answer.content.decode()
    assert "<b>x" not in answer.content.decode()


def test_the_next_five_days_are_shown_before_anything_is_saved(keeper):
    answer = send(keeper, repeats="weekly", weekdays=["0"], look="1", exceptions=day(10))
    assert shown_days(answer) == [TODAY + timedelta(days=n) for n in (3, 17, 24, 31, 38)]
    text = text_of(answer)
    assert "Every week on Monday." in text
    assert "Mon 4 May 2026 Mon 18 May 2026" in text
    assert "And so on." in text
    assert not OwnChore.objects.exists()


def test_the_same_comes_alone_with_scripts_whatever_else_is_still_missing(keeper):
    typed = {**NEW, "title": "", "minutes": "", "repeats": "daily", "ends": "after", "count": "2"}
    answer = keeper.post("/people/chores/days/", typed, **HTMX)
    assert "<html" not in answer.content.decode()
    assert shown_days(answer) == [TODAY, TODAY + timedelta(days=1)]
    assert "And then no more." in text_of(answer)


def test_days_that_cannot_be_told_say_why(keeper):
    answer = keeper.post("/people/chores/days/", {**NEW, "repeat": "FREQ=HOURLY"}, **HTMX)
    assert answer.context["preview"] is None
    assert "A chore comes once a day at most" in text_of(answer)


def test_a_chore_that_would_never_be_due_is_seen_before_saving(keeper):
    typed = {**NEW, "repeats": "daily", "ends": "on", "until": day(-1)}
    assert "On no day at all." in text_of(keeper.post("/people/chores/days/", typed, **HTMX))


def test_asking_for_days_writes_nothing_and_a_helper_may_not(world, keeper, client):
    before = HistoryEntry.objects.count()
    keeper.post("/people/chores/days/", NEW)
    assert HistoryEntry.objects.count() == before
    assert (
        sign_in(client, world.add_member("Bo", Role.HELPER)).post("/people/chores/days/", NEW).status_code
        == 403
    )


@pytest.mark.parametrize(
    "rule",
    [
        "",
        "FREQ=DAILY;INTERVAL=3",
        "FREQ=WEEKLY",
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH",
        "FREQ=MONTHLY",
        "FREQ=MONTHLY;BYMONTHDAY=-1;COUNT=4",
        "FREQ=MONTHLY;INTERVAL=3;BYDAY=-1FR;UNTIL=20271231",
    ],
)
def test_a_chore_opened_and_saved_unchanged_is_unchanged(keeper, world, rule):
    more: dict[str, Any] = {"exceptions": [TODAY + timedelta(days=7)]} if rule else {}
    chore = made(world, repeat=rule, checklist=["oil", "rag"], needs=["lifting"], who="adult", **more)
    address = f"/people/chores/{chore.pk}/"
    form = keeper.get(address).context["form"]
    typed = {name: form[name].value() for name in form.fields}
    typed = {name: "" if value is None else value for name, value in typed.items() if value is not False}
    assert keeper.post(address, typed).status_code == 302
    again = OwnChore.objects.get()
    assert again.version == chore.version == 1


@pytest.mark.parametrize("repeat", [None, Repeat("daily", 2), Repeat("monthly", nth=(-1, 6), count=3)])
def test_the_fields_of_a_rule_say_the_same_rule(repeat):
    typed = {"every": None, "monthday": None} | repeating.stored(repeat)
    assert repeating.rule(typed) == repeat


def test_a_change_made_meanwhile_by_somebody_else_is_shown_and_not_overwritten(keeper, world):
    chore = made(world)
    own_chores.change(world.by, chore_id=chore.pk, expected_version=1, title="Oil all hinges")
    answer = send(keeper, f"/people/chores/{chore.pk}/", version="1")
    assert "Somebody changed this while you had it open." in text_of(answer)
    assert OwnChore.objects.get().title == "Oil all hinges"
    assert 'name="version" value="2"' in answer.content.decode()


def test_ending_asks_first(keeper, world):
    chore = made(world, repeat="FREQ=DAILY")
    address = f"/people/chores/{chore.pk}/end/"
    assert "End “Oil the hinges”?" in text_of(keeper.get(address))
    assert OwnChore.objects.get().ended_on is None
    assert keeper.post(address).url == "/people/chores/"
    assert OwnChore.objects.get().ended_on == TODAY
    text = text_of(keeper.get("/people/chores/"))
    assert "1 chore that has ended" in text
    assert "Oil the hinges, ended 1 May 2026" in text


def test_removing_asks_first_and_is_not_offered_once_ticked(keeper, world):
    chore, ticked = made(world), made(world, title="Sweep", repeat="FREQ=DAILY")
    chores.mark(world.by, source=f"own:{ticked.pk}/own_chore", due=TODAY, round="morning", title="Sweep")
    assert "Remove “Oil the hinges”?" in text_of(keeper.get(f"/people/chores/{chore.pk}/remove/"))
    assert OwnChore.objects.count() == 2
    keeper.post(f"/people/chores/{chore.pk}/remove/")
    assert list(OwnChore.objects.all()) == [ticked]
    assert "End it instead" in text_of(keeper.get(f"/people/chores/{ticked.pk}/remove/"))
    assert "End it instead." in text_of(keeper.post(f"/people/chores/{ticked.pk}/remove/"))
    assert OwnChore.objects.filter(pk=ticked.pk).exists()


def test_another_farms_chore_is_not_found(keeper, elsewhere):
    chore = made(elsewhere)
    for part in ("", "end/", "remove/"):
        assert keeper.get(f"/people/chores/{chore.pk}/{part}").status_code == 404
        assert keeper.post(f"/people/chores/{chore.pk}/{part}").status_code == 404
    assert OwnChore.objects.get().ended_on is None


def test_another_farms_housing_cannot_be_chosen(keeper, elsewhere):
    pen = elsewhere.add_housing("Far pen")
    assert list(errors(send(keeper, housing_id=str(pen.pk)))) == ["housing_id"]


def test_the_list_costs_no_query_more_for_more_chores(keeper, world, django_assert_max_num_queries):
    for n in range(12):
        made(world, title=f"Chore {n}", housing_id=world.housing["Pen 1"].pk, repeat="FREQ=DAILY")
    with django_assert_max_num_queries(8):
        keeper.get("/people/chores/")


def test_a_written_rule_means_the_days_that_calendars_mean(keeper):
    answer = send(keeper, repeat="FREQ=MONTHLY;BYDAY=-1FR", look="1")
    assert [f"{one:%a %d %b}" for one in shown_days(answer)][:2] == ["Fri 29 May", "Fri 26 Jun"]
    assert repeats.write(answer.context["typed"].rule) == "FREQ=MONTHLY;BYDAY=-1FR"
