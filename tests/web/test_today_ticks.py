"""Ticking a line: in place and as a plain form, left out with a reason, opened again, the rest of a housing at once."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest

from farm.models import ChoreMark, Observation
from farm.models.member import Role
from farm.services import chores
from farm.trade.behaviours import behaviours
from tests.conftest import TODAY, World
from tests.web.today_world import day, line_of, look, send, sign_in, text_of, tick

FEED, HEAT = "Brooder 1: Feed and water", "Brooder 1: Check the heat"


@pytest.fixture
def chicks(world: World) -> World:
    """Nine-day-old chicks in Brooder 1."""
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


@pytest.fixture
def keeper(chicks: World, client: Any) -> Any:
    return sign_in(client, chicks.by)


def feed(client: Any) -> Any:
    return line_of(look(client), FEED, "morning")


def test_a_tick_is_recorded_under_the_title_of_the_plan(keeper):
    line = feed(keeper)
    answer = tick(keeper, line, title="something else")
    mark = ChoreMark.objects.get()
    assert (mark.state, mark.title, mark.round, mark.due) == ("done", FEED, "morning", TODAY)
    assert answer.status_code == 302


def test_without_scripts_the_page_comes_back_at_the_line_with_its_round_unfolded(keeper):
    line = line_of(look(keeper), FEED, "evening")
    answer = tick(keeper, line)
    assert answer.url == f"/?day={day(0)}&open={line.key}#line-{line.key}"
    shown = look(keeper, open=line.key)
    assert [one.opened for one in shown.context["work"].rounds if one.key == "evening"] == [True]
    assert f'id="line-{line.key}"' in shown.content.decode()


def test_a_note_sent_without_scripts_leaves_its_fold_open(keeper):
    line = feed(keeper)
    answer = tick(keeper, line, note="two slow", more="1")
    assert answer.url == f"/?day={day(0)}&open={line.key}&more=1#line-{line.key}"
    body = look(keeper, open=line.key, more="1").content.decode()
    assert re.findall(r'class="behind"( open)?', body).count(" open") == 1


def test_with_scripts_only_the_state_of_the_line_and_the_sums_come_back(keeper):
    line = feed(keeper)
    answer = tick(keeper, line, htmx=True)
    body = answer.content.decode()
    assert answer.status_code == 200
    assert body.lstrip().startswith(f'<div id="state-{line.key}" class="state done">')
    assert "<html" not in body
    assert 'id="count-morning" hx-swap-oob="true"' in body
    assert 'id="progress" class="progress" role="status" hx-swap-oob="true"' in body
    assert (
        'class="behind"' not in body
    )  # what stands behind a line is never swapped: it stays as it was unfolded


def test_the_swap_neither_scrolls_nor_replaces_the_note(keeper):
    body = look(keeper).content.decode()
    for swap in re.findall(r'hx-swap="([^"]+)"', body):
        assert swap in ("outerHTML show:none", "none") or "innerHTML" in swap
    line = feed(keeper)
    state = re.search(rf'<div id="state-{line.key}".*?<details class="behind"', body, re.S)
    assert state
    assert f'id="note-{line.key}"' not in state[0]


def test_the_pressed_button_keeps_its_id_so_that_the_focus_stays(keeper):
    line = feed(keeper)
    ticked = tick(keeper, line, htmx=True).content.decode()
    again = tick(keeper, line, "/today/unmark/", htmx=True).content.decode()
    assert f'id="tick-{line.key}"' in ticked
    assert f'id="tick-{line.key}"' in again
    assert f'id="say-done-{line.key}"' in ticked


def test_leaving_out_needs_a_reason_and_says_so_at_the_line(keeper):
    line = feed(keeper)
    answer = tick(keeper, line, state="skipped", htmx=True)
    assert "Write why it is left out, in a word or two." in text_of(answer)
    assert answer.content.decode().lstrip().startswith(f'<div id="state-{line.key}"')
    assert not ChoreMark.objects.exists()


def test_leaving_out_without_a_reason_or_scripts_returns_to_the_line_with_the_message(keeper):
    line = feed(keeper)
    answer = tick(keeper, line, state="skipped", more="1")
    assert answer.url.endswith(f"&more=1#line-{line.key}")
    assert f"{FEED}: Write why it is left out, in a word or two." in text_of(look(keeper))


def test_a_reason_stands_beside_what_was_left_out(keeper):
    line = feed(keeper)
    tick(keeper, line, state="skipped", note="feeder still full")
    assert "skipped, Ada, 12:00: feeder still full" in text_of(look(keeper))
    assert not line_of(look(keeper), FEED, "morning").done


def test_a_tick_made_on_another_day_says_which(keeper):
    line = line_of(look(keeper, day=day(-1)), FEED, "morning")
    tick(keeper, line, day=day(-1))
    assert "done, Ada, 1 May 2026, 12:00" in text_of(look(keeper, day=day(-1)))


def test_opening_a_line_again_removes_its_mark(keeper):
    line = feed(keeper)
    tick(keeper, line)
    tick(keeper, line, "/today/unmark/")
    assert not ChoreMark.objects.exists()
    assert line_of(look(keeper), FEED, "morning").mark is None


def test_a_second_tick_from_a_page_that_was_open_elsewhere_changes_nothing(keeper):
    line = feed(keeper)
    assert tick(keeper, line).status_code == tick(keeper, line, state="skipped", note="no").status_code == 302
    mark = ChoreMark.objects.get()
    assert (mark.state, mark.note) == ("done", "no")


def test_a_note_can_be_added_to_what_is_done(keeper):
    line = feed(keeper)
    tick(keeper, line)
    answer = tick(keeper, line, note="ate it all", htmx=True)
    assert ChoreMark.objects.get().note == "ate it all"
    assert "ate it all" in text_of(answer)


def test_a_day_too_far_ahead_is_refused_at_its_line(keeper):
    line = line_of(look(keeper, day=day(9)), FEED, "morning")
    answer = tick(keeper, line, day=day(9), htmx=True)
    assert answer.status_code == 200
    assert "This is not due for a while; tick it when it is done." in text_of(answer)
    assert not ChoreMark.objects.exists()


@pytest.mark.parametrize(
    "wrong",
    [
        {"due": "soon"},
        {"due": ""},
        {"round": "night"},
        {"source": ""},
        {"source": "x" * 200},
        {"state": "half"},
    ],
)
@pytest.mark.parametrize("htmx", [False, True])
def test_an_unreadable_tick_is_refused_in_words_and_records_nothing(keeper, wrong, htmx):
    answer = tick(keeper, feed(keeper), htmx=htmx, **wrong)
    assert answer.status_code == 422
    assert "This chore is not known. Open the page again." in answer.content.decode()
    assert not ChoreMark.objects.exists()


def test_a_tick_made_before_the_plan_changed_is_accepted_and_stays_in_sight(keeper, chicks):
    typed = {
        "source": "room:77/look",
        "due": day(0),
        "round": "morning",
        "title": "Old coop: Look at the birds",
    }
    send(keeper, "/today/mark/", state="done", day=day(0), **typed)
    text = text_of(look(keeper))
    assert "Old coop: Look at the birds" in text
    assert "The plan has changed since; this is no longer asked." in text


def test_an_overdue_step_is_ticked_on_todays_page_and_stays_there_as_done(keeper):
    late = next(line for line in look(keeper).context["work"].before if line.item.job == "heat_lower")
    assert late.due == TODAY - timedelta(days=2)
    answer = tick(keeper, late, htmx=True)
    assert 'id="count-before" hx-swap-oob="true"' in answer.content.decode()
    (again,) = (line for line in look(keeper).context["work"].before if line.key == late.key)
    assert again.done


def test_a_child_ticks_its_own_work_and_is_refused_others(chicks, client):
    child = sign_in(client, chicks.add_member("Kim", Role.CHILD))
    page = look(child)
    assert tick(child, line_of(page, FEED, "morning")).status_code == 302
    assert tick(child, line_of(page, HEAT, "morning")).status_code == 403
    assert tick(child, line_of(page, HEAT, "morning"), "/today/unmark/").status_code == 403
    assert [mark.title for mark in ChoreMark.objects.all()] == [FEED]


def test_ticking_the_rest_of_a_housing_leaves_adults_work_and_other_rounds_open(keeper):
    group = look(keeper).context["work"].rounds[0].groups[0]
    answer = send(keeper, "/today/mark-rest/", day=day(0), group=group.key, htmx=True)
    marked = set(ChoreMark.objects.values_list("source", "round"))
    assert marked == {(line.source, "morning") for line in group.rest}
    assert len(marked) > 1
    assert HEAT not in ChoreMark.objects.values_list("title", flat=True)
    body = answer.content.decode()
    assert all(f'id="state-{line.key}"' in body for line in group.rest)
    assert body.count("hx-swap-oob") == body.count('hx-swap-oob="true"') >= 2 * len(group.rest)


def test_ticking_the_rest_as_a_plain_form_returns_to_the_housing(keeper):
    group = look(keeper).context["work"].rounds[0].groups[0]
    answer = send(keeper, "/today/mark-rest/", day=day(0), group=group.key)
    assert answer.url == f"/?day={day(0)}&open={group.rest[0].key}#group-{group.key}"


@pytest.mark.parametrize("group", ["", "morning-999", "nonsense"])
def test_the_rest_of_nothing_ticks_nothing(keeper, group):
    assert send(keeper, "/today/mark-rest/", day=day(0), group=group).status_code == 302
    assert not ChoreMark.objects.exists()


def test_a_child_ticking_the_rest_ticks_only_what_a_child_may(chicks, client):
    child = sign_in(client, chicks.add_member("Kim", Role.CHILD))
    group = look(child).context["work"].rounds[0].mine[0]
    send(child, "/today/mark-rest/", day=day(0), group=group.key)
    found = list(ChoreMark.objects.all())
    assert found
    assert {chores.least_role(mark.source, mark.farm_id) for mark in found} == {Role.CHILD}


@pytest.mark.parametrize("address", ["/today/mark/", "/today/unmark/", "/today/mark-rest/"])
def test_ticks_are_posted(keeper, address):
    assert keeper.get(address).status_code == 405


def test_telling_what_birds_do_records_it_and_advises_at_once(keeper, chicks):
    pk = chicks.housing["Brooder 1"].pk
    answer = send(keeper, f"/today/seen/{pk}/", word="huddled", htmx=True)
    seen = Observation.objects.get()
    assert (seen.kind, seen.word, seen.housing_id, seen.batch.name) == ("behaviour", "huddled", pk, "Spring")
    text = text_of(answer)
    assert f"{behaviours()['huddled'].advice}." in text
    assert "follow your local code" in text  # heat is changed next


def test_calm_birds_need_no_caution(keeper, chicks):
    answer = send(keeper, f"/today/seen/{chicks.housing['Brooder 1'].pk}/", word="even", htmx=True)
    assert "Leave it." in text_of(answer)
    assert "caution" not in answer.content.decode()


def test_a_child_who_sees_cold_birds_is_sent_to_an_adult(chicks, client):
    child = sign_in(client, chicks.add_member("Kim", Role.CHILD))
    answer = send(child, f"/today/seen/{chicks.housing['Brooder 1'].pk}/", word="huddled", htmx=True)
    assert "Tell an adult now: heat is for adults only." in text_of(answer)


def test_without_scripts_the_advice_stands_on_the_page(keeper, chicks):
    pk = chicks.housing["Brooder 1"].pk
    assert send(keeper, f"/today/seen/{pk}/", word="huddled").url == f"/#housing-{pk}"
    assert "Too cold: add heat or lower the source." in text_of(look(keeper))


def test_what_is_seen_where_two_batches_live_is_of_the_place(keeper, chicks):
    chicks.add_batch("Late", age=6, housing="Brooder 1")
    send(keeper, f"/today/seen/{chicks.housing['Brooder 1'].pk}/", word="huddled")
    assert Observation.objects.get().batch is None


def test_an_unknown_behaviour_or_another_farms_housing_is_refused(keeper, chicks, elsewhere):
    pen = elsewhere.add_housing("Pen 9")
    assert send(keeper, f"/today/seen/{chicks.housing['Brooder 1'].pk}/", word="sulk").status_code == 422
    assert send(keeper, f"/today/seen/{pen.pk}/", word="huddled").status_code == 404
    assert not Observation.objects.exists()
