"""Breaches of who shares a room: ages, species, one batch only."""

from occupancy_world import DUCKS, LATER, LAYERS, PADDOCK, PEN, POULTS, day, found, only, rooms, stay

from farm.planning.breach import Breach
from farm.trade import mixing

TURKEYS_ALONE = [("turkey", "chicken")]


def together(*stays, kind, apart=(), **changes):
    return found(*stays, kind=kind, apart=apart, rooms=rooms(paddock=changes))


def test_ages_further_apart_than_the_room_allows_are_a_breach_while_both_are_there():
    shared = together(
        stay(LAYERS, PADDOCK, 0, 20, 40), stay(LATER, PADDOCK, 10, 30, 20), kind="age_gap", max_age_gap_days=7
    )
    assert only(shared) == Breach(
        "age_gap", "paddock", ("layers", "later"), day(10), day(20), day(10), short=3.0, birds=20
    )


def test_ages_exactly_as_far_apart_as_allowed_are_no_breach():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(LATER, PADDOCK, 10, 30, 20)
    assert together(*stays, kind="age_gap", max_age_gap_days=10) == []


def test_no_rule_of_ages_is_no_breach_of_it():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(LATER, PADDOCK, 10, 30, 20)
    assert together(*stays, kind="age_gap", max_age_gap_days=None) == []


def test_batches_that_follow_each_other_on_one_day_never_share():
    stays = stay(LAYERS, PADDOCK, 0, 15, 40), stay(LATER, PADDOCK, 15, 30, 20)
    assert together(*stays, kind="age_gap", max_age_gap_days=0) == []


def test_the_fewest_birds_out_are_counted_over_the_ages_that_may_stay_together():
    # Ages 10, 10 and 0 days: the 15 of day 10 outnumber the 12 younger ones.
    stays = (
        stay(LATER, PADDOCK, 10, 11, 12),
        stay(POULTS, PADDOCK, 10, 11, 10),
        stay(DUCKS, PADDOCK, 10, 11, 5),
    )
    gap = only(together(*stays, kind="age_gap", max_age_gap_days=7))
    assert (gap.birds, gap.groups) == (12, ("ducks", "poults", "later"))


def test_species_that_never_share_are_a_breach_on_the_days_they_do():
    shared = together(
        stay(LAYERS, PADDOCK, 0, 20, 40),
        stay(POULTS, PADDOCK, 5, None, 10),
        kind="species",
        apart=TURKEYS_ALONE,
    )
    assert only(shared) == Breach(
        "species", "paddock", ("layers", "poults"), day(5), day(20), day(5), short=50.0, birds=10
    )


def test_species_no_rule_parts_may_share():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(DUCKS, PADDOCK, 5, None, 10)
    assert together(*stays, kind="species", apart=TURKEYS_ALONE) == []


def test_species_kept_apart_in_two_rooms_are_no_breach():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(POULTS, PEN, 0, 20, 10)
    assert found(*stays, kind="species", apart=TURKEYS_ALONE) == []


def test_the_species_in_the_middle_of_two_quarrels_is_the_one_to_take_out():
    stays = tuple(
        stay(group, PADDOCK, 0, 1, birds) for group, birds in ((LAYERS, 40), (POULTS, 10), (DUCKS, 12))
    )
    apart = [("turkey", "chicken"), ("turkey", "duck")]
    assert only(together(*stays, kind="species", apart=apart)).birds == 10


def test_a_rule_about_brooding_holds_only_while_either_needs_heat():
    def brooding_only(first, second, brooding):
        return brooding and {first, second} == {"chicken", "duck"}

    stays = stay(LATER, PADDOCK, 40, None, 40), stay(DUCKS, PADDOCK, 40, None, 10)
    shared = only(together(*stays, kind="species", apart=brooding_only))
    assert (shared.start, shared.end) == (day(40), day(45))


def test_the_trades_own_rules_can_be_given_as_they_are():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(POULTS, PADDOCK, 5, None, 10)
    assert only(together(*stays, kind="species", apart=mixing.mixing().apart)).groups == ("layers", "poults")


def test_a_room_kept_for_other_species_is_a_breach_for_each_batch_in_it():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(DUCKS, PADDOCK, 5, 8, 12)
    kept = only(together(*stays, kind="species", species=frozenset({"chicken"})))
    assert kept == Breach("species", "paddock", ("ducks",), day(5), day(8), day(5), short=12.0, birds=12)


def test_a_room_for_one_batch_is_broken_while_it_holds_two():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(DUCKS, PADDOCK, 12, 30, 12)
    two = only(together(*stays, kind="one_batch", one_batch=True))
    assert two == Breach(
        "one_batch", "paddock", ("ducks", "layers"), day(12), day(20), day(12), short=1.0, birds=12
    )


def test_one_batch_split_over_two_stays_keeps_a_room_for_one_batch():
    stays = stay(LAYERS, PADDOCK, 0, 20, 20, key="a"), stay(LAYERS, PADDOCK, 5, 20, 20, key="b")
    assert together(*stays, kind="one_batch", one_batch=True) == []


def test_one_batch_after_another_keeps_a_room_for_one_batch():
    stays = stay(LAYERS, PADDOCK, 0, 20, 40), stay(DUCKS, PADDOCK, 20, 30, 12)
    assert together(*stays, kind="one_batch", one_batch=True) == []
