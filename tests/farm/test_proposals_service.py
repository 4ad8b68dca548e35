"""Proposals of what to set next: overtaken by what is written, dropped, kept, and who may do what."""

from __future__ import annotations

import pytest

from farm.errors import NotAllowed, NotFound, Stale
from farm.models import EggSet, SettingProposal
from farm.planning import ordering as planning
from farm.queries import agenda
from farm.services import chores, customers, proposals
from tests.conftest import TODAY, World
from tests.farm.egg_world import refused
from tests.farm.proposals_world import (
    adopt,
    adopt_refused,
    cabinet,
    chicks,
    content,
    propose,
)

# What was written meanwhile


def test_a_proposal_the_farm_has_overtaken_is_stale_and_says_by_what(world: World):
    cabinet(world)
    chicks(world)
    proposal = propose(world)
    chicks(world, customer="Late Farm")

    with pytest.raises(Stale) as caught:
        adopt(world, proposal)

    assert "propose again" in str(caught.value)
    assert caught.value.changes == ["Ada: Order of Late Farm added"]
    assert not EggSet.objects.exists()


def test_what_is_written_while_a_proposal_is_worked_out_makes_it_stale(
    world: World, monkeypatch: pytest.MonkeyPatch
):
    cabinet(world)
    chicks(world)
    real = planning.propose

    def slowly(need: planning.Need) -> planning.Proposal:
        chicks(world, customer="Just now")
        return real(need)

    monkeypatch.setattr(planning, "propose", slowly)
    with pytest.raises(Stale):
        adopt(world, propose(world))


def test_a_ticked_chore_does_not_make_a_proposal_stale(world: World):
    cabinet(world)
    chicks(world)
    world.add_batch("Reds", housing="Brooder 1")
    proposal = propose(world)
    due = agenda.on_day(world.farm, TODAY, TODAY).due[0].item
    chores.mark(world.by, source=due.source, due=TODAY, round=due.round, title="Done")
    adopt(world, proposal)
    assert EggSet.objects.count() == 1


def test_a_proposal_is_adopted_once(world: World):
    cabinet(world)
    chicks(world)
    proposal = propose(world)
    adopt(world, proposal)
    assert adopt_refused(world, proposal) == {"": ["This proposal was adopted already. Ask for a new one."]}


# Dropping, keeping, who may


def test_dropping_leaves_the_farm_as_it_is(world: World):
    cabinet(world)
    chicks(world)
    proposal = propose(world)
    proposals.drop(world.by, code=proposal.code)
    assert not SettingProposal.objects.exists()
    with pytest.raises(NotFound):
        adopt(world, proposal)


def test_an_adopted_proposal_is_kept(world: World):
    cabinet(world)
    chicks(world)
    proposal = propose(world)
    adopt(world, proposal)
    said = refused(proposals.drop, world.by, code=proposal.code)
    assert said == {"": ["This proposal was adopted. Undo it in the history instead."]}
    for _again in range(proposals.KEPT + 2):
        propose(world)
    assert SettingProposal.objects.filter(adoption=None).count() == proposals.KEPT
    assert SettingProposal.objects.filter(pk=proposal.pk).exists()


def test_only_keepers_of_the_farm_propose_adopt_and_drop(world: World, elsewhere: World):
    cabinet(world)
    chicks(world)
    proposal = propose(world)
    helper = world.add_member("Hal", "helper")
    for act in (proposals.adopt, proposals.drop):
        with pytest.raises(NotAllowed):
            act(helper, code=proposal.code)
        with pytest.raises(NotFound):
            act(elsewhere.by, code=proposal.code)
    with pytest.raises(NotAllowed):
        proposals.propose(helper)
    assert SettingProposal.objects.filter(farm=elsewhere.farm).count() == 0


def test_a_customer_is_never_named_in_what_is_kept_and_forgetting_one_leaves_it_readable(world: World):
    cabinet(world)
    chicks(world, customer="Berta Brown")
    chicks(world, customer="layer", birds=900)
    proposal = propose(world)
    assert "Berta" not in str(proposal.content)
    customers.forget(world.by, customer="layer")
    proposal.refresh_from_db()
    assert content(proposal).proposal.lines
