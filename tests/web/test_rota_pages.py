"""The week of the family on a page: who does what, giving it to others, shares, the sheet, the rules."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from farm.models import HistoryEntry, Member, RotaRules
from farm.services import members, rota
from tests.conftest import NOON, TODAY
from tests.farm.judging import day
from tests.farm.rota_world import adult, begin, key, of, people, pins, rows

WEEK = reverse("people")


@pytest.fixture(autouse=True)
def _noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def family(world):
    world.add_batch("Spring", housing="Brooder 1")
    found = people(world)
    begin(world)
    return found


def plain(answer):
    return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())


def turn(client, name="evening", on=None):
    on = on or TODAY
    return client.get(reverse("rota-round"), {"day": on.isoformat(), "round": name})


def give(client, to, giver=None, name="evening", on=None, **more):
    fields = {"day": (on or TODAY).isoformat(), "round": name, "giver": giver or "", "member": to}
    return client.post(reverse("rota-give"), fields | {"whole": "1"} | more, follow=True)


def test_a_keeper_alone_is_told_to_add_others_first(world, ada):
    page = plain(ada.get(WEEK))
    assert "You are alone on this farm so far" in page
    assert reverse("rota-start") not in ada.get(WEEK).content.decode()


def test_with_others_the_one_next_step_is_to_share_the_work_out(world, ada):
    members.add(world.by, name="Finn", role="helper")
    assert reverse("rota-start") in ada.get(WEEK).content.decode()


def test_a_helper_is_told_that_a_keeper_can_share_it_out(world, client):
    client.force_login(world.add_member("Finn", "helper").login)
    page = client.get(WEEK)
    assert "A keeper can share the work out." in plain(page)
    assert reverse("rota-start") not in page.content.decode()


def test_sharing_out_works_at_once_and_shows_the_week(world, ada):
    world.add_batch("Spring", housing="Brooder 1")
    people(world)
    answer = ada.post(reverse("rota-start"), {"weeks": 2, "fair_days": 42, "missed_after": 90}, follow=True)
    assert "The work is shared out" in plain(answer)
    assert rows(world)
    assert RotaRules.objects.get(farm=world.farm).weeks == 2


@pytest.mark.parametrize("field, value", [("weeks", 9), ("weeks", 0), ("fair_days", 13), ("missed_after", 5)])
def test_rules_out_of_range_are_refused_beside_their_field_and_nothing_begins(world, ada, field, value):
    typed = {"weeks": 2, "fair_days": 42, "missed_after": 90} | {field: value}
    page = ada.post(reverse("rota-start"), typed)
    assert page.context["form"].errors.keys() == {field}
    assert not RotaRules.objects.exists()


def test_the_week_names_who_has_which_round_with_minutes(world, ada, family):
    page = plain(ada.get(WEEK))
    for name in family:
        assert name in page
    minutes = re.findall(r"(\d+) min", page)
    assert minutes
    assert sum(map(int, minutes)) > 0


def test_the_minutes_of_the_page_are_those_of_the_rota(world, ada, family):
    grid = ada.get(WEEK).context["grid"]
    given = sum(chip.minutes for row in grid.rows for cell in row.cells for chip in cell.chips)
    assert given == sum(person.minutes for person in grid.people)


def test_other_weeks_can_be_looked_at_and_nonsense_shows_this_one(world, ada, family):
    later = (TODAY + timedelta(days=9)).isoformat()
    first = ada.get(WEEK, {"from": later}).context["first"]
    assert first.weekday() == 0
    assert first <= TODAY + timedelta(days=9) < first + timedelta(days=7)
    assert ada.get(WEEK, {"from": "soon"}).context["this_week"]
    assert ada.get(WEEK, {"from": "9999-01-01"}).context["this_week"]


def test_the_week_begins_on_the_farms_first_day(world, ada, family):
    world.farm.first_weekday = 6
    world.farm.save()
    assert ada.get(WEEK).context["first"].weekday() == 6


def test_a_round_is_given_to_somebody_else_and_stays_so(world, ada, family):
    ben, mine = family["Ben"].member, of(world, world.keeper)
    if not mine:
        rota.give(world.by, occurrences=[key(world, "feed_water", 0, "evening")], member_id=world.keeper.pk)
        mine = of(world, world.keeper)
    answer = give(ada, ben.pk, world.keeper.pk)
    assert "Given. The rota works around it." in plain(answer)
    assert of(world, world.keeper) == []
    assert {(one, ben.pk) for one in mine} <= pins(world)
    assert HistoryEntry.objects.filter(farm=world.farm).latest("pk").verb.startswith("give")


def test_a_child_is_never_given_the_heat_and_the_page_says_why(world, ada, family):
    cara = family["Cara"].member
    heat = key(world, "heat_check", 0, "evening")
    (holder,) = rows(world)[heat]
    answer = give(ada, cara.pk, holder)
    assert answer.status_code == 422
    assert "Cara" in plain(answer)
    assert rows(world)[heat] == (holder,)


def test_a_child_is_not_offered_for_what_a_child_may_not_do(world, ada, family):
    page = turn(ada)
    offered = {
        (part.group, member.name)
        for part in page.context["parts"]
        for member in part.may
        if any(work.due.item.who == "adult" for work in part.works)
    }
    assert all(name != "Cara" for _, name in offered)


def test_giving_to_nobody_is_refused_plainly(world, ada, family):
    (holder,) = rows(world)[key(world, "heat_check", 0, "evening")]
    answer = give(ada, "", holder)
    assert answer.status_code == 422
    assert "Choose who does it." in plain(answer)


def test_a_member_of_another_farm_is_nobody_here(world, elsewhere, ada, family):
    (holder,) = rows(world)[key(world, "heat_check", 0, "evening")]
    before = rows(world)
    assert give(ada, elsewhere.keeper.pk, holder).status_code in (404, 422)
    assert rows(world) == before


def test_what_was_decided_can_be_left_to_the_rota_again(world, ada, family):
    occurrence = key(world, "feed_water", 1, "evening")
    rota.give(world.by, occurrences=[occurrence], member_id=family["Ben"].member.pk)
    page = turn(ada, on=day(1))
    assert "A person decided this." in plain(page)
    part = next(part for part in page.context["parts"] if part.fixed)
    fields = {"day": day(1).isoformat(), "round": "evening", "giver": part.member.pk, "group": part.group}
    ada.post(reverse("rota-let-go"), fields)
    assert pins(world) == set()


def test_a_helper_sees_the_round_and_gives_nothing_away(world, client, family):
    client.force_login(family["Ben"].login)
    page = turn(client)
    assert page.status_code == 200
    assert "Give it to" not in plain(page)
    assert give(client, family["Ben"].member.pk, world.keeper.pk).status_code == 403


@pytest.mark.parametrize("asked", [{"day": "x", "round": "evening"}, {"day": "2026-05-01", "round": "night"}])
def test_a_round_that_is_none_is_not_found(world, ada, family, asked):
    assert ada.get(reverse("rota-round"), asked).status_code == 404


def test_with_everybody_away_the_page_says_what_nobody_does_and_what_would_help(world, ada, family):
    for actor in family.values():
        Member.objects.filter(pk=actor.member.pk).update(rounds=[])
    rota.change_rules(world.by, expected_version=None, weeks=2)
    rota.refresh(farm_id=world.farm.pk, now=NOON + timedelta(minutes=1))
    assert "this week has nobody" in plain(ada.get(WEEK)) or "this week have nobody" in plain(ada.get(WEEK))
    page = plain(turn(ada, "morning", day(1)))
    assert "Nobody" in page
    assert "What would help:" in page


def test_shares_show_part_done_and_given_out(world, ada, family):
    page = ada.get(reverse("fairness"))
    assert [bar.row.member.name for bar in page.context["bars"]] == ["Ada", "Ben", "Cara"]
    for bar in page.context["bars"]:
        assert 0 <= bar.done <= bar.planned <= page.context["length"]
        assert bar.more - bar.less == round(bar.row.off)


def test_shares_without_a_rota_lead_to_the_week(world, ada):
    assert reverse("people") in ada.get(reverse("fairness")).content.decode()
    assert "There is no rota yet" in plain(ada.get(reverse("fairness")))


def test_the_sheet_has_every_round_with_its_people_and_a_box(world, ada, family):
    page = ada.get(reverse("week-sheet"))
    chips = [chip for row in page.context["grid"].rows for cell in row.cells for chip in cell.chips]
    assert page.content.decode().count('class="square"') >= len(chips) > 0


def test_the_rules_change_and_a_stale_form_is_seen(world, ada, family):
    typed = {"weeks": 3, "fair_days": 42, "missed_after": 60, "version": 1}
    assert ada.post(reverse("rota-rules"), typed).status_code == 302
    again = ada.post(reverse("rota-rules"), typed | {"weeks": 5})
    assert again.status_code == 200
    assert again.context["form"].non_field_errors()
    assert RotaRules.objects.get(farm=world.farm).weeks == 3


def test_ending_the_rota_is_asked_first(world, ada, family):
    assert "End the rota?" in plain(ada.get(reverse("rota-stop")))
    assert RotaRules.objects.exists()
    ada.post(reverse("rota-stop"))
    assert not RotaRules.objects.exists()
    assert "everybody sees all they may do" in plain(ada.get(WEEK))


def test_only_keepers_begin_change_and_end_it(world, client, family):
    client.force_login(family["Ben"].login)
    for name in ("rota-start", "rota-rules", "rota-stop"):
        assert client.get(reverse(name)).status_code == 403


def test_people_are_told_apart_by_initials_and_patterns(world, ada, family):
    adult(world, "Benno")
    grid = ada.get(WEEK).context["grid"]
    initials = [person.badge.initials for person in grid.people]
    assert len(set(initials)) == len(initials)
    assert len({person.badge.pattern for person in grid.people}) == len(grid.people)
