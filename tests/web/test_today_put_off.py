"""Today: putting a line off and bringing it back, what a tick is asked for, and who does what."""

from __future__ import annotations

import re
from datetime import date, timedelta
from io import BytesIO
from typing import Any

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from farm.models import Assignment, ChoreMark, MarkPhoto, OwnChore, Postponement, RotaRules
from farm.models.member import Role
from farm.queries import own_chores as reads
from farm.services import own_chores, postponing
from farm.services.actor import Actor
from farm.web.today.lines import Line
from tests.conftest import NOON, TODAY, World
from tests.web.today_world import all_lines, day, line_of, look, send, sign_in, text_of

FEED = "Brooder 1: Feed and water"


@pytest.fixture
def keeper(world: World, client: Any) -> Any:
    return sign_in(client, world.by)


@pytest.fixture
def chicks(world: World) -> World:
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


def own(world: World, **fields: Any) -> OwnChore:
    return own_chores.add(world.by, **({"title": "Sweep", "start": TODAY, "minutes": 10} | fields))


def named(line: Line) -> dict[str, str]:
    source, due, round = line.occurrence
    return {"source": source, "due": due.isoformat(), "round": round, "title": line.title}


def put(client: Any, line: Line, to: int = 3, round: str = "evening", **more: Any) -> Any:
    typed = named(line) | {"to_due": day(to), "to_round": round, "day": day(0), "more": "1"}
    return send(client, "/today/put-off/", **(typed | more))


def bring(client: Any, line: Line, **more: Any) -> Any:
    return send(client, "/today/bring-back/", **(named(line) | {"day": day(0), "more": "1"} | more))


def tick(client: Any, line: Line, htmx: bool = False, **more: Any) -> Any:
    typed = named(line) | {"day": day(0), "state": "done"} | more
    return send(client, "/today/mark/", htmx=htmx, **typed)


def part(answer: Any, line: Line, name: str) -> str:
    """Return what a page or answer has of one part of a line, up to the next part."""
    body = answer.content.decode()
    found = re.search(
        rf'id="{name}-{line.key}".*?(?=<details class="behind"|<div class="putting-off|<li |\Z)', body, re.S
    )
    return " ".join(re.sub(r"<[^>]+>", " ", found[0]).split()) if found else ""


def test_a_line_put_off_leaves_its_page_and_stands_on_the_other_saying_from_where(world, keeper):
    own(world)
    answer = put(keeper, line_of(look(keeper), "Sweep"), reason="rain")
    assert answer.status_code == 302
    assert answer.url.startswith(f"/?day={day(0)}&open=")
    said = look(keeper)
    assert "Sweep: Put off to 4 May, evening." in text_of(said)
    assert all_lines(said) == []
    other = look(keeper, day=day(3))
    line = line_of(other, "Sweep", "evening")
    assert "put off from 1 May, morning, by Ada: rain" in part(other, line, "state")
    assert "Bring back" in text_of(other)


def test_bringing_it_back_puts_it_where_it_was(world, keeper):
    own(world)
    put(keeper, line_of(look(keeper), "Sweep"))
    answer = bring(keeper, line_of(look(keeper, day=day(3)), "Sweep"), day=day(3))
    assert answer.url.startswith(f"/?day={day(3)}&")
    assert not Postponement.objects.exists()
    assert line_of(look(keeper), "Sweep", "morning").item.first is None
    assert all_lines(look(keeper, day=day(3))) == []


def test_with_scripts_the_line_stays_and_says_where_it_went(chicks, keeper):
    own(chicks)
    line = line_of(look(keeper), "Sweep")
    answer = put(keeper, line, htmx=True)
    body = answer.content.decode()
    assert body.lstrip().startswith(f'<div id="state-{line.key}"')
    assert "<html" not in body
    assert "Put off to 4 May, evening." in part(answer, line, "state")
    assert f'id="put-off-{line.key}" hx-swap-oob="true"' in body
    assert "Bring back" in body
    # The round it left is counted without it; nothing is swapped that the page does not have.
    assert 'id="count-morning" hx-swap-oob="true"' in body
    on_page = look(keeper).content.decode()
    for name in re.findall(r'id="([^"]+)" hx-swap-oob', body.replace(' class="count"', "")):
        assert f'id="{name}"' in on_page or line.key in name, name


def test_the_last_line_of_a_round_leaves_it_done(world, keeper):
    own(world)
    answer = put(keeper, line_of(look(keeper), "Sweep"), htmx=True)
    count = re.search(r'id="count-morning".*?</span></span>', answer.content.decode(), re.S)
    assert count
    assert "done" in count[0]


def test_moved_within_the_day_only_rounds_that_are_on_the_page_are_counted(chicks, keeper):
    own(chicks)
    line = line_of(look(keeper), "Sweep")
    body = put(keeper, line, 0, "evening", htmx=True).content.decode()
    assert 'id="count-evening" hx-swap-oob="true"' in body
    assert line_of(look(keeper), "Sweep", "evening").key == line.key


def test_moved_to_a_round_that_was_empty_nothing_is_swapped_there(world, keeper):
    own(world)
    body = put(keeper, line_of(look(keeper), "Sweep"), 0, "evening", htmx=True).content.decode()
    assert "count-morning" in body
    assert "count-evening" not in body


def test_brought_back_in_place_it_offers_putting_off_again(world, keeper):
    own(world)
    line = line_of(look(keeper), "Sweep")
    put(keeper, line)
    answer = bring(keeper, line, htmx=True)
    assert "Back on 1 May, morning." in part(answer, line, "state")
    assert "To which day" in text_of(answer)
    assert "Bring back" not in text_of(answer)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"to_due": ""}, "Choose a day."),
        ({"to_due": "soon"}, "Choose a day."),
        ({"to_due": day(0), "to_round": "morning"}, "Choose a later day or round."),
        ({"to_due": day(-1)}, "This day is over."),
        ({"to_due": day(15)}, "It can wait until 15 May at most."),
        ({"to_round": "night"}, "Choose a round."),
    ],
)
@pytest.mark.parametrize("htmx", [True, False])
def test_where_it_cannot_go_is_said_at_the_line(world, keeper, typed, said, htmx):
    own(world)
    line = line_of(look(keeper), "Sweep")
    answer = put(keeper, line, htmx=htmx, **typed)
    if htmx:
        assert said in part(answer, line, "state")
    else:
        assert f"Sweep: {said}" in text_of(look(keeper))
    assert not Postponement.objects.exists()


@pytest.mark.parametrize("address", ["/today/put-off/", "/today/bring-back/"])
@pytest.mark.parametrize(
    "wrong", [{"source": "own:9999/own_chore"}, {"due": "x"}, {"round": "night"}, {"source": ""}]
)
def test_what_is_not_known_is_refused_in_words(world, keeper, address, wrong):
    own(world)
    typed = named(line_of(look(keeper), "Sweep")) | {"to_due": day(2), "to_round": "morning"} | wrong
    answer = send(keeper, address, **typed)
    assert answer.status_code == 422
    assert "This chore is not known. Open the page again." in answer.content.decode()
    assert keeper.get(address).status_code == 405


def test_the_form_offers_only_what_is_possible(chicks, keeper):
    own(chicks, repeat="FREQ=WEEKLY")
    page = look(keeper)
    sweep, feed = line_of(page, "Sweep"), line_of(page, FEED, "morning")
    assert (sweep.later.first, sweep.later.last) == (TODAY, TODAY + timedelta(days=6))
    assert sweep.later.day == TODAY + timedelta(days=1)
    assert feed.later.one_day
    assert [one.value for one in feed.later.rounds] == ["midday", "evening"]
    assert line_of(page, FEED, "evening").later is None
    body = page.content.decode()
    assert f'min="{day(0)}" max="{day(6)}"' in body
    assert "Birds depend on this the same day: only a later round of that day will do." in text_of(page)


def test_feeding_is_put_off_to_a_later_round_by_the_form_as_it_stands(chicks, keeper):
    feed = line_of(look(keeper), FEED, "morning")
    put(keeper, feed, 0, "midday")
    moved = next(line for line in all_lines(look(keeper)) if line.occurrence == feed.occurrence)
    assert (moved.due, moved.round, moved.item.first) == (TODAY, "midday", (TODAY, "morning"))


def test_a_moved_line_is_ticked_noted_and_opened_again_where_it_stands(world, keeper):
    own(world)
    put(keeper, line_of(look(keeper), "Sweep"))
    line = line_of(look(keeper, day=day(3)), "Sweep")
    answer = tick(keeper, line, day=day(3), htmx=True)
    assert answer.content.decode().lstrip().startswith(f'<div id="state-{line.key}" class="state done">')
    assert 'id="count-evening" hx-swap-oob="true"' in answer.content.decode()
    assert ChoreMark.objects.get().due == TODAY
    assert line_of(look(keeper, day=day(3)), "Sweep").done
    send(keeper, "/today/unmark/", **named(line), day=day(3))
    assert not ChoreMark.objects.exists()


def test_the_rest_of_a_place_takes_moved_lines_with_it(chicks, keeper):
    put(keeper, line_of(look(keeper), FEED, "morning"), 0, "midday")
    group = next(g for one in look(keeper).context["work"].rounds if one.key == "midday" for g in one.groups)
    send(keeper, "/today/mark-rest/", day=day(0), group=group.key)
    assert "morning" in ChoreMark.objects.filter(title=FEED).values_list("round", flat=True)
    now = next(g for one in look(keeper).context["work"].rounds if one.key == "midday" for g in one.groups)
    assert now.rest == []


def test_a_child_sees_no_way_to_put_off_what_others_do(chicks, client):
    own(chicks)
    child = sign_in(client, chicks.add_member("Kim", Role.CHILD))
    line = line_of(look(child), "Sweep")
    assert f'id="put-off-{line.key}"' not in look(child).content.decode()
    assert put(child, line).status_code == 403
    assert not Postponement.objects.exists()


def test_a_ticked_line_offers_no_putting_off(world, keeper):
    own(world)
    tick(keeper, line_of(look(keeper), "Sweep"))
    page = look(keeper)
    assert line_of(page, "Sweep").later is None
    assert "To which day" not in text_of(page)


def test_an_overdue_line_goes_to_a_round_of_today(world, keeper):
    own(world)
    with time_machine.travel(NOON + timedelta(days=5), tick=False):
        (line,) = keeper.get("/").context["work"].before
        keeper.post("/today/put-off/", named(line) | {"to_due": day(5), "to_round": "evening", "day": day(5)})
        work = keeper.get("/").context["work"]
    assert work.before == []
    assert [(one.key, [each.title for each in one.lines]) for one in work.rounds] == [("evening", ["Sweep"])]


def test_a_farm_without_birds_still_sees_its_own_chores(world, keeper):
    assert "Add your first batch" in text_of(look(keeper))
    own(world)
    text = text_of(look(keeper))
    assert "Sweep" in text
    assert "Add your first batch" not in text


# What a tick is asked for


def picture() -> SimpleUploadedFile:
    out = BytesIO()
    Image.new("RGB", (40, 30), "green").save(out, "PNG")
    return SimpleUploadedFile("coop.png", out.getvalue(), "image/png")


@pytest.mark.parametrize("htmx", [True, False])
def test_a_tick_without_the_note_it_asks_for_is_refused_and_asks_for_it(world, keeper, htmx):
    own(world, asks="note")
    line = line_of(look(keeper), "Sweep")
    assert f'form="tick-form-{line.key}" name="note"' in look(keeper).content.decode()
    answer = tick(keeper, line, htmx=htmx, note="  ")
    shown = text_of(answer) if htmx else text_of(look(keeper))
    assert "This chore asks for a note. Write what you saw or did, then tick it." in shown
    assert not ChoreMark.objects.exists()
    tick(keeper, line, htmx=htmx, note="two hinges loose")
    assert ChoreMark.objects.get().note == "two hinges loose"
    assert f'form="tick-form-{line.key}"' not in look(keeper).content.decode()


def test_leaving_out_what_asks_for_a_note_needs_its_reason_alone(world, keeper):
    own(world, asks="note")
    tick(keeper, line_of(look(keeper), "Sweep"), state="skipped", note="no broom")
    assert ChoreMark.objects.get().state == "skipped"


def test_a_picture_is_kept_with_its_tick(world, keeper):
    own(world, asks="photo")
    line = line_of(look(keeper), "Sweep")
    assert 'enctype="multipart/form-data"' in look(keeper).content.decode()
    answer = tick(keeper, line, htmx=True, photo=picture())
    kept = MarkPhoto.objects.get()
    assert kept.mark == ChoreMark.objects.get()
    assert Image.open(BytesIO(bytes(kept.jpeg))).format == "JPEG"
    assert f"/my/photo/{kept.pk}/" in answer.content.decode() or "Picture" in text_of(answer)
    assert "Picture" in text_of(look(keeper))


@pytest.mark.parametrize("note", ["", "the phone is flat"])
def test_without_a_picture_a_note_says_why(world, keeper, note):
    own(world, asks="photo")
    answer = tick(keeper, line_of(look(keeper), "Sweep"), htmx=True, note=note)
    assert ChoreMark.objects.exists() == bool(note)
    assert ("asks for a picture" in text_of(answer)) != bool(note)


def test_a_file_that_is_no_picture_is_refused_and_nothing_is_ticked(world, keeper):
    own(world, asks="photo")
    junk = SimpleUploadedFile("coop.jpg", b"not a picture", "image/jpeg")
    answer = tick(keeper, line_of(look(keeper), "Sweep"), htmx=True, photo=junk)
    assert "This file is no picture that can be read." in text_of(answer)
    assert not ChoreMark.objects.exists()


def test_what_asks_for_more_than_a_tick_is_not_ticked_with_the_rest(world, keeper):
    pen = world.housing["Pen 1"].pk
    for title, asks in (("Sweep", ""), ("Oil", ""), ("Weigh", "note"), ("Look", "photo")):
        own(world, title=title, asks=asks, housing_id=pen)
    (group,) = look(keeper).context["work"].rounds[0].groups
    send(keeper, "/today/mark-rest/", day=day(0), group=group.key)
    assert set(ChoreMark.objects.values_list("title", flat=True)) == {"Pen 1: Sweep", "Pen 1: Oil"}


# Who does it


def share(world: World, chore: OwnChore, *by: Actor, due: date = TODAY) -> None:
    """Give a chore to members, as the rota's rows have it."""
    RotaRules.objects.get_or_create(farm=world.farm)
    for seat, each in enumerate(by):
        Assignment.objects.create(
            farm=world.farm,
            source=reads.source(chore.pk),
            due=due,
            round=chore.round,
            day=due,
            member=each.member,
            seat=seat,
            minutes=chore.minutes,
        )


def test_without_a_rota_nobody_is_named_and_nothing_can_be_filtered(world, keeper):
    own(world)
    answer = look(keeper, mine="1")
    assert line_of(answer, "Sweep").doers == ""
    assert "Only mine" not in text_of(answer)


def test_with_a_rota_each_line_says_who_does_it_or_that_nobody_does_yet(world, keeper):
    bo, kim = world.add_member("Bo", Role.HELPER), world.add_member("Kim", Role.CHILD)
    share(world, own(world, two_people=True), world.by, bo)
    share(world, own(world, title="Oil"), kim)
    own(world, title="Weigh")
    answer = look(keeper)
    assert {line.title: line.doers for line in all_lines(answer)} == {
        "Sweep": "Ada, Bo",
        "Oil": "Kim",
        "Weigh": "nobody yet",
    }
    assert "Who: Ada, Bo" in text_of(answer)
    assert "Who: nobody yet" in text_of(answer)


def test_nobody_is_still_wanted_for_what_is_done_or_beyond_the_rota(world, keeper):
    own(world, repeat="FREQ=DAILY", care=True)
    share(world, own(world, title="Other"), world.by)
    tick(keeper, line_of(look(keeper), "Sweep"))
    assert line_of(look(keeper), "Sweep").doers == ""
    beyond = 7 * RotaRules.objects.get().weeks
    assert line_of(look(keeper, day=day(beyond - 1)), "Sweep").doers == "nobody yet"
    assert line_of(look(keeper, day=day(beyond)), "Sweep").doers == ""


def test_only_mine_shows_and_counts_mine_alone_and_stays_chosen(world, keeper):
    bo = world.add_member("Bo", Role.HELPER)
    share(world, own(world), world.by)
    share(world, own(world, title="Oil"), bo)
    own(world, title="Weigh")
    answer = look(keeper, mine="1")
    assert [line.title for line in all_lines(answer)] == ["Sweep"]
    assert "1 to do, about 10 min" in text_of(answer)
    body = answer.content.decode()
    assert f'href="/?day={day(1)}&amp;mine=1"' in body
    assert 'aria-current="true">Only mine' in body
    line = line_of(answer, "Sweep")
    ticked = tick(keeper, line, mine="1", htmx=True)
    assert "All done for the day." in text_of(ticked)
    assert tick(keeper, line, mine="1").url.startswith(f"/?day={day(0)}&open={line.key}&mine=1")
    assert len(all_lines(look(keeper))) == 3


def test_the_rest_of_mine_is_ticked_without_what_is_others(world, keeper):
    bo, pen = world.add_member("Bo", Role.HELPER), world.housing["Pen 1"].pk
    share(world, own(world, housing_id=pen), world.by)
    share(world, own(world, title="Oil", housing_id=pen), world.by)
    share(world, own(world, title="Weigh", housing_id=pen), bo)
    (group,) = look(keeper, mine="1").context["work"].rounds[0].groups
    answer = send(keeper, "/today/mark-rest/", day=day(0), group=group.key, mine="1")
    assert "mine=1" in answer.url
    assert set(ChoreMark.objects.values_list("title", flat=True)) == {"Pen 1: Sweep", "Pen 1: Oil"}


def test_what_i_did_of_nobodys_work_is_mine_and_what_is_given_to_others_is_not(world, keeper):
    bo = world.add_member("Bo", Role.HELPER)
    share(world, own(world), bo)
    own(world, title="Weigh")
    for title in ("Sweep", "Weigh"):
        tick(keeper, line_of(look(keeper), title))
    assert [line.title for line in all_lines(look(keeper, mine="1"))] == ["Weigh"]


def test_who_does_a_line_that_was_put_off_is_still_said(world, keeper):
    bo, chore = world.add_member("Bo", Role.HELPER), own(world)
    share(world, chore, bo)
    postponing.put_off(
        world.by,
        source=reads.source(chore.pk),
        due=TODAY,
        round="morning",
        to_due=TODAY + timedelta(days=2),
        to_round="morning",
    )
    Assignment.objects.update(day=TODAY + timedelta(days=2))
    assert line_of(look(keeper, day=day(2)), "Sweep").doers == "Bo"


def test_a_day_costs_few_queries_more_with_rota_and_put_off_lines(
    chicks, keeper, django_assert_max_num_queries
):
    with time_machine.travel(NOON, tick=False):
        with django_assert_max_num_queries(80) as before:
            keeper.get("/")
        few = len(before)
        for n in range(10):
            chore = own(chicks, title=f"Chore {n}", repeat="FREQ=DAILY", asks="photo")
            share(chicks, chore, chicks.by)
            keeper.post(
                "/today/put-off/",
                {
                    "source": reads.source(chore.pk),
                    "due": day(0),
                    "round": "morning",
                    "to_due": day(0),
                    "to_round": "midday",
                },
            )
        # Rules, who, names, and why something was put off: whatever the number of lines.
        with django_assert_max_num_queries(few + 4):
            assert len([line for line in all_lines(keeper.get("/")) if line.put_off]) == 10


def test_a_childs_page_costs_no_query_for_each_own_chore(world, client, django_assert_max_num_queries):
    child = sign_in(client, world.add_member("Kim", Role.CHILD))
    own(world, who="child")
    with time_machine.travel(NOON, tick=False):
        with django_assert_max_num_queries(80) as one:
            child.get("/")
        few = len(one)
        for n in range(9):
            own(world, title=f"Chore {n}", who="child" if n % 2 else "helper")
        with django_assert_max_num_queries(few):
            found = all_lines(child.get("/"))
    assert sum(line.may for line in found) == 5
    assert len(found) == 10
