"""What to set next, on the pages: asking, reading the answer, changing and adopting it, dropping it, the rules."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, EggSet, HistoryEntry, Intake, OrderingRules, SettingProposal
from farm.services import history, proposals
from tests.conftest import NOON, World
from tests.farm.proposals_world import cabinet, chicks, content, seller
from tests.web.hatching_world import errors, said, sign_in


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def ask(seen: Client) -> SettingProposal:
    """Press the button, and return what was proposed."""
    answer = seen.post("/orders/propose/")
    found = SettingProposal.objects.first()
    assert found is not None
    assert answer.headers["Location"] == address(found)
    return found


def address(proposal: SettingProposal, act: str = "") -> str:
    return f"/orders/propose/{proposal.code}/{act}"


def typed(page: Any) -> dict[str, str]:
    """Return what the form of a proposal would send as it stands."""
    found = re.findall(r'<input type="(?:number|date)" name="([^"]+)" value="([^"]*)"', page.content.decode())
    return dict(found)


def test_without_a_confirmed_order_there_is_nothing_to_ask(seen: Client, world: World):
    page = seen.get("/orders/propose/")
    assert "no confirmed order" in said(page)
    assert "Work it out" not in said(page)
    ask(seen)
    assert "Nothing to set: no confirmed order is open." in said(
        seen.get(address(SettingProposal.objects.get()))
    )


def test_when_every_order_is_met_the_answer_is_nothing(seen: Client, world: World):
    world.add_batch("Reds", birds=40, age=0, housing="Brooder 1")
    chicks(world, 1, 3)
    page = seen.get(address(ask(seen)))
    assert "Nothing to set: every order is expected to be met." in said(page)
    assert "Adopt" not in page.content.decode()


def test_the_answer_is_one_sentence_cards_and_what_stays_unmet(seen: Client, world: World):
    cabinet(world)
    seller(world, types=["quail_layer"])
    chicks(world)
    chicks(world, programme="quail_layer", customer="Quail Inn")
    chicks(world, 10, 12, customer="Too Soon")
    page = said(seen.get(address(ask(seen))))
    assert "1 egg set and 1 intake would meet 2 of 3 order lines that lack birds." in page
    assert "in time for Meadow Farm" in page
    assert "8 hatches in 10 give" in page
    assert "Cabinet 1" in page
    assert "Mill" in page
    unmet = page[page.index("What stays unmet") : page.index("What would be met")]
    assert "Too Soon" in unmet
    assert "20 of 20 birds are not sure enough (90 % asked for)" in unmet
    assert "Too late: eggs would have had to be set by 22 April" in unmet
    assert "What would meet it: " in unmet


def test_adopting_goes_to_the_egg_sets_and_shows_them(seen: Client, world: World):
    cabinet(world)
    chicks(world)
    proposal = ask(seen)
    form = typed(seen.get(address(proposal)))

    answer = seen.post(address(proposal, "adopt/"), form, follow=True)

    assert answer.redirect_chain == [("/hatching/", 302)]
    assert "Proposal adopted: 1 egg set. The chicks are expected on the board." in said(answer)
    assert "E1" in said(answer)
    assert EggSet.objects.get().batch.expected
    page = said(seen.get(address(proposal)))
    assert "This is adopted." in page
    assert "Set on *" not in page
    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="adopt proposal").pk)
    assert "This was adopted and then undone." in said(seen.get(address(proposal)))


def test_numbers_and_days_may_be_typed_over_and_cards_left_out(seen: Client, world: World):
    cabinet(world)
    chicks(world)
    chicks(world, 60, 62)
    proposal = ask(seen)
    first = content(proposal).proposal.sets[0]
    form = typed(seen.get(address(proposal)))
    sooner = first.set_on - timedelta(days=1)
    form |= {"sets-0-eggs": "44", "sets-0-day": sooner.isoformat(), "sets-1-out": "on", "sets-1-eggs": "none"}

    assert seen.post(address(proposal, "adopt/"), form).status_code == 302

    egg_set = EggSet.objects.get()
    assert (egg_set.eggs, egg_set.set_on) == (44, sooner)


def test_what_is_refused_stands_at_its_field_with_what_was_typed(seen: Client, world: World):
    cabinet(world)
    chicks(world)
    proposal = ask(seen)
    form = typed(seen.get(address(proposal))) | {"sets-0-eggs": "500"}

    answer = seen.post(address(proposal, "adopt/"), form)

    assert answer.status_code == 422
    assert "Cabinet 1 is too full by 440 eggs" in errors(answer)["sets-0-eggs"][0]
    assert 'value="500"' in answer.content.decode()
    assert not Batch.objects.exists()
    for wrong in ({"sets-0-eggs": ""}, {"sets-0-day": "soon"}, {}):
        answer = seen.post(address(proposal, "adopt/"), wrong and form | wrong)
        assert answer.status_code == 422
    assert not Batch.objects.exists()


def test_a_proposal_the_farm_has_overtaken_says_so_and_offers_another(seen: Client, world: World):
    cabinet(world)
    chicks(world)
    proposal = ask(seen)
    form = typed(seen.get(address(proposal)))
    chicks(world, customer="Late Farm")

    answer = seen.post(address(proposal, "adopt/"), form)

    assert answer.status_code == 409
    assert "Nothing was written; propose again." in said(answer)
    assert "Ada: Order of Late Farm added" in said(answer)
    page = seen.get(address(proposal))
    assert "can no longer be adopted" in said(page)
    assert typed(page) == {}
    assert not Intake.objects.exists()


def test_a_proposal_dropped_is_gone_and_one_adopted_stays(seen: Client, world: World):
    cabinet(world)
    chicks(world)
    proposal = ask(seen)
    answer = seen.post(address(proposal, "drop/"), follow=True)
    assert answer.redirect_chain == [("/orders/propose/", 302)]
    assert "Nothing on the farm was changed." in said(answer)
    assert seen.get(address(proposal)).status_code == 404
    kept = ask(seen)
    proposals.adopt(world.by, code=kept.code)
    answer = seen.post(address(kept, "drop/"), follow=True)
    assert "Undo it in the history instead." in said(answer)
    assert "adopted" in said(seen.get("/orders/propose/"))


def test_a_page_outlives_what_it_names(seen: Client, world: World):
    cabinet(world)
    order = chicks(world)
    proposal = ask(seen)
    order.lines.all().delete()
    world.housing["Brooder 1"].delete()
    page = said(seen.get(address(proposal)))
    assert "an order that is gone" in page
    assert "no longer there" in page


def test_helpers_do_not_plan(client: Client, world: World):
    cabinet(world)
    chicks(world)
    code = proposals.propose(world.by).code
    sign_in(client, world.add_member("Hal", "helper"))
    for path in ("/orders/propose/", f"/orders/propose/{code}/", "/orders/rules/"):
        assert client.get(path).status_code == 403
    assert client.post(f"/orders/propose/{code}/adopt/", {}).status_code == 403


# Rules


def test_rules_are_typed_in_percent_and_kept(seen: Client, world: World):
    page = seen.get("/orders/rules/")
    assert 'value="90"' in page.content.decode()
    numbers = {"unmet_cost": "1000", "batch_cost": "100", "spare_cost": "3"}
    answer = seen.post(
        "/orders/rules/", {"percent": "85", "set_weekdays": ["0", "3"], "version": "0", **numbers}
    )
    assert answer.headers["Location"] == "/orders/propose/"
    rules = OrderingRules.objects.get()
    assert (rules.confidence, rules.set_weekdays, rules.hatch_weekdays) == (0.85, [0, 3], [])
    late = {"percent": "70", "version": "0", **numbers}
    assert "Somebody changed this" in said(seen.post("/orders/rules/", late))
    assert OrderingRules.objects.get().confidence == 0.85
    assert set(errors(seen.post("/orders/rules/", {"percent": "100", **numbers}))) == {"percent"}
