"""Days away on their pages: kept at once without a rota; with one, only after seeing what they change."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from farm.models import Assignment, Away, HistoryEntry, Member
from farm.services import aways, history, members, rota
from farm.web.people.preview import Name
from tests.conftest import NOON, TODAY, World
from tests.farm.rota_world import begin, refresh


@pytest.fixture
def ada(world: World, client: Client) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def finn(world: World) -> Member:
    return members.add(world.by, name="Finn", role="keeper")


@pytest.fixture
def shared(world: World, finn: Member) -> None:
    """Ada and Finn share the chores of some birds."""
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    refresh(world)


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


def page_of(member: Member) -> str:
    return reverse("member-away", args=[member.pk])


def typed(start: int, end: int | None, **more: str) -> dict[str, str]:
    return {"start": str(day(start)), "end": "" if end is None else str(day(end))} | more


def errors(answer: Any) -> dict[str, list[str]]:
    return {name: list(texts) for name, texts in answer.context["form"].errors.items()}


def words(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def test_without_a_rota_days_are_kept_at_once_the_last_one_included(world, ada, finn):
    answer = ada.post(page_of(finn), typed(2, 4, note="lake"), follow=True)

    away = Away.objects.get()
    assert (away.member, away.start, away.end, away.note) == (finn, day(2), day(5), "lake")
    assert "Finn is away: 3 May – 5 May." in words(answer)
    assert "<strong>3 May – 5 May</strong> · lake" in words(answer)


def test_no_last_day_means_one_day(world, ada, finn):
    ada.post(page_of(finn), typed(2, None))

    assert Away.objects.get().end == day(3)


@pytest.mark.parametrize(
    ("start", "end", "field"),
    [(5, 4, "end"), (500, None, "start"), (0, 400, "end"), (9, 10, "start"), (5, 20, "end")],
)
@pytest.mark.parametrize("with_rota", [False, True])
def test_days_that_cannot_be_are_refused_at_their_field(world, ada, finn, start, end, field, with_rota):
    aways.add(world.by, member_id=finn.pk, start=day(8), end=day(12))
    if with_rota:
        begin(world)

    answer = ada.post(page_of(finn), typed(start, end, note="lake"))

    assert list(errors(answer)) == [field]
    assert answer.context["form"]["note"].value() == "lake"
    assert Away.objects.count() == 1


@pytest.mark.parametrize("start", ["", "soon", "2026-02-30"])
def test_a_day_that_is_none_is_refused(world, ada, finn, start: str):
    assert list(errors(ada.post(page_of(finn), {"start": start}))) == ["start"]


def test_with_a_rota_the_change_is_shown_before_anything_is_kept(world, ada, finn, shared):
    before = list(Assignment.objects.order_by("pk").values())
    his = Assignment.objects.filter(member=finn, day__gte=day(1), day__lt=day(8))
    assert his.exists()

    answer = ada.post(page_of(finn), typed(1, 7, note="lake"))

    page = words(answer)
    assert "Nothing is kept yet." in page
    assert "If Finn is away: 2 May – 8 May" in page
    assert "<s>Finn</s>" in page
    assert "<strong>Ada</strong>" in page
    assert not Away.objects.exists()
    assert list(Assignment.objects.order_by("pk").values()) == before
    assert not HistoryEntry.objects.filter(verb="add days away").exists()
    hidden = {name: answer.context["form"][name].value() for name in ("start", "end", "note")}
    assert hidden == typed(1, 7, note="lake")


def test_what_is_shown_is_what_finn_had_to_do_on_those_days(world, ada, finn, shared):
    had = {
        (row.day, row.round)
        for row in Assignment.objects.filter(member=finn, day__gte=day(1), day__lt=day(4))
    }

    preview = ada.post(page_of(finn), typed(1, 3)).context["preview"]

    shown = {
        (on, line.round) for on, lines in preview.days for line in lines if Name("Finn", True) in line.before
    }
    assert had == shown
    lines = [line for _on, lines in preview.days for line in lines]
    assert not any(one.name == "Finn" for line in lines for one in line.after)
    for line in lines:
        stay = [{one.name for one in side if not one.moves} for side in (line.before, line.after)]
        go = [{one.name for one in side if one.moves} for side in (line.before, line.after)]
        assert stay[0] == stay[1]
        assert not go[0] & go[1]
    assert all(line.minutes > 0 for line in lines)
    assert preview.changes == len(lines)
    assert [on for on, _lines in preview.days] == [day(1), day(2), day(3)]
    assert not {on for on, _lines in preview.others} & {day(1), day(2), day(3)}


def test_kept_days_are_saved_and_the_rota_follows(world, ada, finn, shared):
    answer = ada.post(page_of(finn), typed(1, 7, keep="1"))
    refresh(world)

    assert answer.url == page_of(finn)
    assert (Away.objects.get().start, Away.objects.get().end) == (day(1), day(8))
    assert not Assignment.objects.filter(member=finn, day__gte=day(1), day__lt=day(8)).exists()


def test_kept_days_are_judged_again(world, ada, finn, shared):
    ada.post(page_of(finn), typed(1, 7))
    aways.add(world.by, member_id=finn.pk, start=day(3), end=day(4))

    answer = ada.post(page_of(finn), typed(1, 7, keep="1"))

    assert list(errors(answer)) == ["end"]
    assert Away.objects.count() == 1


def test_what_nobody_could_do_is_said_with_the_reason_and_a_way_out(world, ada, finn, shared):
    aways.add(world.by, member_id=world.keeper.pk, start=day(2), end=day(3))
    refresh(world)

    answer = ada.post(page_of(finn), typed(2, 2))

    lacking = answer.context["preview"].lacking
    assert lacking
    assert {lack.day for lack in lacking} == {day(2)}
    page = words(answer)
    assert "Nobody could do" in page
    assert lacking[0].title in page.replace("&#x27;", "'")
    assert all(str(lack.reason) for lack in lacking)
    assert any(lack.would_fill for lack in lacking)


def test_what_lacked_before_is_not_blamed_on_these_days(world, ada, finn, shared):
    for member in (world.keeper, finn):
        aways.add(world.by, member_id=member.pk, start=day(2), end=day(3))
    refresh(world)

    answer = ada.post(page_of(finn), typed(5, 5))

    assert day(2) not in {lack.day for lack in answer.context["preview"].lacking}


def test_days_beyond_the_rota_change_nothing_yet_and_the_page_says_so(world, ada, finn, shared):
    answer = ada.post(page_of(finn), typed(100, 101))

    preview = answer.context["preview"]
    assert (preview.days, preview.others, preview.lacking) == ((), (), ())
    assert "Nothing changes on the rota, which is worked out up to 8 May." in words(answer)


def test_a_preview_of_days_that_began_is_of_what_is_to_come(world, ada, finn, shared):
    preview = ada.post(page_of(finn), typed(-3, 2)).context["preview"]

    assert all(on >= TODAY for on, _lines in preview.days)


def test_rounds_of_today_that_are_over_are_not_talked_about(world, ada, finn, shared):
    with time_machine.travel(NOON + timedelta(hours=9), tick=False):  # seven in the evening
        preview = ada.post(page_of(finn), typed(0, 1)).context["preview"]

    today = [line for on, lines in (*preview.days, *preview.others) if on == TODAY for line in lines]
    assert {line.round for line in today} <= {"evening"}


def test_the_page_says_before_what_will_happen(world, ada, finn):
    assert "While somebody is away they are given no chores." in words(ada.get(page_of(finn)))
    rota.start(world.by)
    assert "Before anything is kept you see who would do what instead." in words(ada.get(page_of(finn)))


def test_days_over_are_not_listed(world, ada, finn):
    aways.add(world.by, member_id=finn.pk, start=day(-3), end=day(0))

    assert "No days away are entered." in words(ada.get(page_of(finn)))


def test_days_are_taken_back_after_asking_and_come_back_by_undo(world, ada, finn):
    away = aways.add(world.by, member_id=finn.pk, start=day(2), end=day(5), note="lake")
    url = reverse("away-remove", args=[away.pk])

    assert "Is Finn there after all?" in words(ada.get(url))
    assert Away.objects.exists()
    assert ada.post(url).url == page_of(finn)
    assert not Away.objects.exists()
    history.undo(world.by, entry_id=HistoryEntry.objects.order_by("-pk")[0].pk)
    assert Away.objects.get().note == "lake"


@pytest.mark.parametrize("role", ["helper", "child"])
def test_members_enter_and_take_back_their_own_days_alone(world, client, finn, role: str):
    by = world.add_member("Kim", role)
    client.force_login(by.login)
    theirs = aways.add(world.by, member_id=finn.pk, start=day(2), end=day(3))
    with time_machine.travel(NOON, tick=False):
        assert client.get(page_of(finn)).status_code == 403
        assert client.post(page_of(finn), typed(5, 5)).status_code == 403
        assert client.post(reverse("away-remove", args=[theirs.pk])).status_code == 403
        assert client.post(page_of(by.member), typed(5, 5)).status_code == 302
        mine = Away.objects.get(member=by.member)
        assert client.post(reverse("away-remove", args=[mine.pk])).status_code == 302

    assert list(Away.objects.all()) == [theirs]


def test_who_left_has_no_page_of_days(world, ada, finn):
    members.leave(world.by, member_id=finn.pk)

    assert ada.get(page_of(finn)).status_code == 404


def test_another_farms_days_are_not_found(world, ada, elsewhere):
    theirs = aways.add(elsewhere.by, member_id=elsewhere.keeper.pk, start=day(2), end=day(3))
    url = reverse("away-remove", args=[theirs.pk])

    assert (ada.get(url).status_code, ada.post(url).status_code) == (404, 404)
    assert list(Away.objects.all()) == [theirs]
