"""What a farm asks a backward plan: only what is missing, of the right programme, by the farm's own rules."""

from __future__ import annotations

import pytest

from farm.errors import BadInput, NotAllowed, Stale
from farm.husbandry import odds
from farm.models import Farm, OrderingRules
from farm.queries import ordering
from farm.queries.hatch_rates import FarmRates
from farm.services import history, ordering_rules, programmes
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused
from tests.farm.proposals_world import cabinet, chicks, line, seller, take


def asked(world: World) -> ordering.Question:
    return ordering.question(Farm.objects.get(pk=world.farm.pk), TODAY)


def test_only_confirmed_lines_that_are_not_sure_enough_are_asked_about(world: World):
    world.add_batch("Reds", birds=40, housing="Brooder 1")
    sure = take(world, line(birds=10))
    lacking = chicks(world)
    chicks(world, customer="Asks only").lines.get()
    quote = chicks(world, customer="A quote")
    quote.status = "quote"
    quote.save()

    found = asked(world)

    keys = {each.key for each in found.need.wanted}
    assert str(lacking.lines.get().pk) in keys
    assert str(sure.lines.get().pk) not in keys
    assert str(quote.lines.get().pk) not in keys
    assert (len(keys), found.covered, found.later) == (2, 1, 0)
    assert {each.name for each in found.need.wanted} == keys  # no customer's name


def test_a_line_whose_days_have_passed_is_no_longer_asked_about(world: World):
    chicks(world, 2, 4)
    assert len(asked(world).need.wanted) == 1
    later = ordering.question(Farm.objects.get(pk=world.farm.pk), day(5))
    assert (later.need.wanted, later.covered) == ((), 0)


def test_birds_there_already_count_so_that_only_what_is_missing_is_set_for(world: World):
    cabinet(world)
    world.add_batch("Reds", birds=12, age=0, housing="Brooder 1")
    order = take(world, line(birds=20, from_on=day(25), to_on=day(30), age_from_days=0, age_to_days=35))
    need = asked(world).need
    law = need.besides[str(order.lines.get().pk)]
    assert 11 < odds.mean(law) <= 12


def test_lines_further_ahead_wait_when_there_are_many(world: World, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(ordering, "MOST_LINES", 2)
    far, near, middle = chicks(world, 90, 92), chicks(world, 30, 32), chicks(world, 60, 62)
    found = asked(world)
    assert [each.key for each in found.need.wanted] == [str(one.lines.get().pk) for one in (near, middle)]
    assert found.later == 1
    assert str(far.lines.get().pk) not in found.need.besides


def test_the_farms_own_copy_is_followed_where_a_line_names_it(world: World):
    own = programmes.copy(world.by, source="chicken_layer_brown", name="Our browns")
    chicks(world, programme="chicken_layer_brown")
    assert asked(world).choices == {"chicken_layer_brown": "chicken_layer_brown"}
    chicks(world, programme=str(own.pk))
    found = asked(world)
    assert found.choices == {"chicken_layer_brown": str(own.pk)}
    assert found.need.kinds["chicken_layer_brown"].name == "Our browns"


def test_eggs_hatch_as_in_the_worst_month_they_could(world: World, monkeypatch: pytest.MonkeyPatch):
    by_month = {month: 0.5 + month / 100 for month in range(1, 13)}

    def stages(self: FarmRates, programme: object, stored: int, month: int) -> tuple[odds.Stage, ...]:
        return (odds.Stage("hatched", by_month[month], 50),)

    monkeypatch.setattr(FarmRates, "stages", stages)
    chicks(world, 28, 33)  # 29 May to 3 June
    (stage,) = asked(world).need.kinds["chicken_layer_brown"].hatch
    assert stage.chance == 0.55


def test_eggs_can_be_set_only_where_a_machine_takes_them(world: World):
    chicks(world, programme="duck")
    assert not asked(world).need.kinds["duck"].can_set
    cabinet(world)
    assert not asked(world).need.kinds["duck"].can_set
    cabinet(world, "Geese only", large_eggs=20, species=["goose"])
    assert not asked(world).need.kinds["duck"].can_set
    cabinet(world, "Ducks", large_eggs=20)
    assert asked(world).need.kinds["duck"].can_set


def test_suppliers_sell_by_what_birds_are_matched_by(world: World):
    own = programmes.copy(world.by, source="duck", name="Our ducks")
    shop = seller(world, types=[str(own.pk), "chicken_meat"], weekdays=[1], hours_on_the_way=50, sexed=True)
    chicks(world)
    (found,) = asked(world).need.suppliers
    assert (found.key, found.types, found.weekdays) == (str(shop.pk), {"duck", "chicken_meat"}, {1})
    assert (found.age_days, found.minimum, found.sexed) == (2, 5, True)


# Rules


def test_without_rules_a_farm_goes_by_those_it_would_begin_with(world: World):
    rules = ordering_rules.get(world.farm)
    assert (rules.pk, rules.confidence, rules.version) == (None, 0.9, 0)
    assert not OrderingRules.objects.exists()


def test_rules_once_changed_are_what_a_plan_is_asked_by(world: World):
    chicks(world)
    ordering_rules.change(
        world.by, expected_version=0, confidence=0.8, set_weekdays=[4, 0], hatch_weekdays=[2],
        unmet_cost=900, batch_cost=80, spare_cost=7,
    )  # fmt: skip
    need = asked(world).need
    assert (need.confidence, need.set_weekdays, need.hatch_weekdays) == (0.8, {0, 4}, {2})
    assert (need.weights.unmet, need.weights.batch, need.weights.over_hatch) == (900, 80, 7)
    ordering_rules.change(world.by, expected_version=1, confidence=0.7)
    assert ordering_rules.get(world.farm).confidence == 0.7
    history.undo(world.by, entry_id=newest().pk)
    assert ordering_rules.get(world.farm).confidence == 0.8


@pytest.mark.parametrize(
    "field, value",
    (("confidence", 0.4), ("confidence", 1.0), ("set_weekdays", [9]), ("batch_cost", 2_000_000)),
)
def test_rules_that_cannot_be_are_refused_at_their_field(world: World, field: str, value: object):
    said = refused(lambda: ordering_rules.change(world.by, expected_version=None, **{field: value}))
    assert set(said) in ({field}, {""})


def test_rules_somebody_else_changed_meanwhile_are_not_overwritten(world: World):
    ordering_rules.change(world.by, expected_version=0, confidence=0.8)
    with pytest.raises(Stale):
        ordering_rules.change(world.by, expected_version=0, confidence=0.6)
    assert ordering_rules.get(world.farm).confidence == 0.8


def test_only_keepers_change_the_rules(world: World):
    with pytest.raises(NotAllowed):
        ordering_rules.change(world.add_member("Hal", "helper"), expected_version=None, confidence=0.8)
    with pytest.raises(TypeError):
        ordering_rules.change(world.by, expected_version=None, farm_id=3)
    with pytest.raises(BadInput):
        ordering_rules.change(world.by, expected_version=None, unmet_cost=-1)
