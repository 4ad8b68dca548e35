"""Swaps: offered, agreed to, refused or taken back; exactly what both have at that moment changes hands."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.errors import NotAllowed, NotFound
from farm.models import Assignment, Swap
from farm.models.rota import SwapState
from farm.services import chores, history, own_chores, rota, swaps
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused
from tests.farm.rota_world import able, doing, key, pins, refresh, rows, turn, with_turns


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 2_000)


@pytest.fixture
def who(world: World):
    return with_turns(world)


def offer(who, taker="Ada", give=(1, "morning"), take=(2, "evening"), giver="Ben"):
    return swaps.offer(
        who[giver],
        taker_id=who[taker].member.pk,
        give=(day(give[0]), give[1]),
        take=None if take is None else (day(take[0]), take[1]),
    )


def state(swap: Swap) -> str:
    swap.refresh_from_db()
    return swap.state


def test_offered_nothing_changes_but_the_offer_is_there(world, who):
    before = rows(world)
    swap = offer(who)
    assert (swap.state, swap.giver, swap.taker) == (SwapState.OFFERED, who["Ben"].member, who["Ada"].member)
    assert rows(world) == before
    assert newest().summary == "Ben offers Ada: 2 May, morning for 3 May, evening"


def test_accepted_both_rounds_change_hands_and_stay_so(world, who):
    swap = offer(who)
    assert swaps.accept(who["Ada"], swap_id=swap.pk) == ()
    ada, ben = who["Ada"].member.pk, who["Ben"].member.pk
    refresh(world)
    assert (doing(world, 1, "morning"), doing(world, 2, "evening")) == ({(ada,)}, {(ben,)})
    assert state(swap) == SwapState.ACCEPTED
    assert {member for k, member in pins(world) if k[1:] == (day(1), "morning")} == {ada}
    assert newest().summary == "Ada does it for Ben: 2 May, morning for 3 May, evening"


def test_a_round_may_be_given_for_nothing(world, who):
    evening = doing(world, 2, "evening")
    swaps.accept(who["Ada"], swap_id=offer(who, take=None).pk)
    assert doing(world, 1, "morning") == {(who["Ada"].member.pk,)}
    assert doing(world, 2, "evening") == evening


def test_exactly_what_both_have_at_that_moment_changes_hands(world, who):
    swap = offer(who, take=None)
    look, feed = key(world, "look", 1), key(world, "feed_water", 1)
    rota.give(world.by, occurrences=[look], member_id=who["Dora"].member.pk)
    chores.mark(who["Ben"], source=feed[0], due=feed[1], round=feed[2], title="Feed", minutes=5)
    swaps.accept(who["Ada"], swap_id=swap.pk)
    found = rows(world)
    assert found[look] == (who["Dora"].member.pk,)
    assert found[feed] == (who["Ben"].member.pk,)
    assert found[key(world, "heat_check", 1)] == (who["Ada"].member.pk,)


def test_when_there_is_nothing_left_to_give_it_is_refused(world, who):
    swap = offer(who)
    rota.give(world.by, occurrences=turn(world, 1, "morning"), member_id=who["Dora"].member.pk)
    text = "Ben has nothing to do by the rota on 2 May, morning that could be given away."
    assert refused(lambda: swaps.accept(who["Ada"], swap_id=swap.pk)) == {"give": [text]}
    assert state(swap) == SwapState.OFFERED


def test_when_the_other_has_nothing_to_give_back_it_is_refused(world, who):
    swap = offer(who)
    rota.give(world.by, occurrences=turn(world, 2, "evening"), member_id=who["Dora"].member.pk)
    assert list(refused(lambda: swaps.accept(who["Ada"], swap_id=swap.pk))) == ["take"]


def test_whoever_may_not_do_it_any_more_is_refused_plainly(world, who):
    swap = offer(who)
    able(who["Ada"], can_heat=False)
    said = refused(lambda: swaps.accept(who["Ada"], swap_id=swap.pk))
    assert said == {"member": ["Ada does not handle heat equipment: Brooder 1: Check the heat."]}


def test_a_child_is_not_even_offered_an_adults_round(world, who):
    said = refused(lambda: offer(who, taker="Cara", take=None))
    assert list(said) == ["member"]
    assert "Cara" in said["member"][0]


def test_a_child_may_offer_what_it_has(world, who):
    feed = key(world, "feed_water", 3, "evening")
    rota.give(world.by, occurrences=[feed], member_id=who["Cara"].member.pk)
    swap = offer(who, giver="Cara", taker="Dora", give=(3, "evening"), take=None)
    swaps.accept(who["Dora"], swap_id=swap.pk)
    assert rows(world)[feed] == (who["Dora"].member.pk,)


def test_what_the_taker_did_not_wish_for_is_said_and_holds(world, who):
    able(who["Dora"], rounds=[])
    found = swaps.accept(who["Dora"], swap_id=offer(who, taker="Dora", take=None).pk)
    assert [str(each) for each in found] == ["Dora is usually not there for this round on 2 May."]
    assert doing(world, 1, "morning") == {(who["Dora"].member.pk,)}


def test_what_both_do_together_stays_with_both(world, who):
    chore = own_chores.add(world.by, title="Move the coop", start=day(1), minutes=20, two_people=True)
    job = f"own:{chore.pk}/own_chore", day(1), "morning"
    refresh(world)
    for name in ("Ben", "Ada"):
        rota.give(world.by, occurrences=[job], member_id=who[name].member.pk)
    both = rows(world)[job]
    assert set(both) == {who["Ben"].member.pk, who["Ada"].member.pk}
    swaps.accept(who["Ada"], swap_id=offer(who, take=None).pk)
    assert rows(world)[job] == both


def test_only_the_taker_or_a_keeper_answers(world, who):
    swap = offer(who, taker="Dora", take=None)
    for act in (swaps.accept, swaps.decline):
        for name in ("Ben", "Cara"):
            with pytest.raises(NotAllowed):
                act(who[name], swap_id=swap.pk)
    swaps.accept(who["Ada"], swap_id=swap.pk)  # keeps the farm
    assert doing(world, 1, "morning") == {(who["Dora"].member.pk,)}


def test_only_the_giver_or_a_keeper_takes_an_offer_back(world, who):
    swap = offer(who, taker="Dora", take=None)
    with pytest.raises(NotAllowed):
        swaps.withdraw(who["Dora"], swap_id=swap.pk)
    swaps.withdraw(who["Ben"], swap_id=swap.pk)
    assert state(swap) == SwapState.WITHDRAWN
    assert newest().summary == "Ben takes the offer to Dora back: 2 May, morning"


def test_declined_nothing_changes(world, who):
    before, swap = rows(world), offer(who)
    swaps.decline(who["Ada"], swap_id=swap.pk)
    assert (rows(world), state(swap)) == (before, SwapState.DECLINED)
    assert swap.answered_at == who["Ada"].now


@pytest.mark.parametrize("end", ["accept", "decline", "withdraw"])
def test_an_answered_offer_is_not_answered_again(world, who, end):
    swap = offer(who)
    getattr(swaps, end)(who["Ada"], swap_id=swap.pk)
    for act in (swaps.accept, swaps.decline, swaps.withdraw):
        said = refused(lambda act=act: act(who["Ada"], swap_id=swap.pk))
        assert said[""][0].startswith("This offer is not open any more")


def test_accepted_by_one_the_other_offers_of_that_round_end(world, who):
    first, second = offer(who, take=None), offer(who, taker="Dora", take=None)
    swaps.accept(who["Dora"], swap_id=second.pk)
    assert (state(first), state(second)) == (SwapState.WITHDRAWN, SwapState.ACCEPTED)


def test_the_same_offer_is_not_made_twice(world, who):
    offer(who)
    assert refused(lambda: offer(who, take=None)) == {"taker": ["You have offered Ada this already."]}


def test_nonsense_is_told_by_field(world, who):
    assert refused(lambda: offer(who, taker="Ben")) == {"taker": ["Choose somebody else."]}
    assert refused(lambda: offer(who, give=(-1, "morning"))) == {"give": ["This day is over."]}
    assert refused(lambda: offer(who, take=(-1, "morning"))) == {"take": ["This day is over."]}
    assert refused(lambda: offer(who, take=(1, "morning"))) == {"take": ["Choose another round."]}
    assert refused(lambda: offer(who, give=(1, "night"))) == {"give": ["Choose a round."]}


def test_a_round_that_is_over_is_not_swapped_any_more(world, who):
    swap, ada = offer(who, take=None), who["Ada"]
    later = type(ada)(ada.farm_id, ada.face, ada.now + timedelta(days=3), day(3), ada.member, ada.login)
    assert refused(lambda: swaps.accept(later, swap_id=swap.pk)) == {"give": ["This day is over."]}


def test_another_farms_people_and_swaps_are_not_found(world, elsewhere, who):
    with pytest.raises(NotFound):
        swaps.offer(who["Ben"], taker_id=elsewhere.keeper.pk, give=(day(1), "morning"))
    with pytest.raises(NotFound):
        swaps.accept(elsewhere.by, swap_id=offer(who).pk)


def test_undone_everybody_has_their_own_round_again(world, who):
    before, decided = rows(world), pins(world)
    swap = offer(who)
    swaps.accept(who["Ada"], swap_id=swap.pk)
    history.undo(world.by, entry_id=newest().pk)
    assert (rows(world), pins(world), state(swap)) == (before, decided, SwapState.OFFERED)


def test_without_a_rota_there_is_nothing_to_swap(world, who):
    rota.stop(world.by)
    assert list(refused(lambda: offer(who))) == [""]
    assert not Assignment.objects.filter(day__gte=TODAY).exists()
