"""What a farm knows of a member beside name and role: abilities, time, share and likes."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput
from farm.models import Member, OwnChore
from farm.models.member import ABILITIES, NEVER_CHILDREN, Role, all_rounds
from farm.services import member_rules, members
from tests.conftest import TODAY, World

ABLE = list(ABILITIES.values())
FORBIDDEN = ["adult", *(ABILITIES[name] for name in NEVER_CHILDREN)]


def refused(world: World, **details: object) -> dict[str, list[object]]:
    """Return what is said, by field, when a helper with these details is added."""
    with pytest.raises(BadInput) as caught:
        members.add(world.by, **({"name": "Gil", "role": Role.HELPER} | details))
    assert Member.objects.filter(farm=world.farm).count() == 1
    return dict(caught.value.fields)


def own_chore(world: World, title: str = "Mow", **fields: object) -> OwnChore:
    return OwnChore.objects.create(farm=world.farm, title=title, start=TODAY, begun_on=TODAY, **fields)


def test_whoever_starts_a_farm_is_an_adult_who_can_do_all(world: World):
    assert world.keeper.adult
    assert world.keeper.abilities == set(ABILITIES)


@pytest.mark.parametrize(
    ("role", "adult", "can"),
    [("keeper", True, set(ABILITIES)), ("helper", False, {"water"}), ("child", False, {"water"})],
)
def test_a_new_member_starts_with_what_is_usual_for_the_role(world: World, role: str, adult: bool, can: set):
    member = members.add(world.by, name="Gil", role=role)

    assert (member.adult, member.abilities) == (adult, can)
    assert (member.rounds, member.share, member.max_week_minutes) == (all_rounds(), 100, None)


def test_what_is_said_of_a_new_member_goes_before_what_is_usual(world: World):
    member = members.add(
        world.by,
        name="Gil",
        role="keeper",
        can_slaughter=False,
        rounds=[20, 3],
        max_week_minutes=240,
        share=50,
    )

    assert member.abilities == set(ABILITIES) - {"slaughter"}
    assert (member.rounds, member.max_week_minutes, member.share) == ([3, 20], 240, 50)


@pytest.mark.parametrize("column", FORBIDDEN)
def test_what_no_child_may_have_is_refused_at_its_field(world: World, column: str):
    assert list(refused(world, role=Role.CHILD, **{column: True})) == [column]


@pytest.mark.parametrize("column", sorted(set(ABLE) - set(FORBIDDEN)))
def test_a_child_may_learn_to_lift_and_carry(world: World, column: str):
    assert getattr(members.add(world.by, name="Kim", role="child", **{column: True}), column)


def test_all_that_is_wrong_is_said_at_once(world: World):
    said = refused(world, role=Role.CHILD, can_heat=True, can_dose=True, share=1001, refuses=["juggle"])

    assert list(said) == ["share", "refuses", "can_heat", "can_dose"]


def test_who_becomes_a_child_loses_hot_work_without_a_word(world: World):
    gil = members.add(world.by, name="Gil", role="helper", adult=True, **dict.fromkeys(ABLE, True))

    changed = members.change(world.by, member_id=gil.pk, expected_version=1, name="Gil", role="child")

    assert (changed.adult, changed.abilities) == (False, {"water", "lifting"})


def test_who_becomes_a_child_is_not_given_hot_work_in_the_same_breath(world: World):
    gil = members.add(world.by, name="Gil", role="helper", can_heat=True)

    with pytest.raises(BadInput) as caught:
        members.change(
            world.by, member_id=gil.pk, expected_version=1, name="Gil", role="child", can_heat=True
        )

    assert list(caught.value.fields) == ["can_heat"]
    gil.refresh_from_db()
    assert gil.role == Role.HELPER


def test_details_that_are_not_named_stay(world: World):
    gil = members.add(world.by, name="Gil", role="helper", adult=True, share=30, rounds=[0], prefers=["look"])

    changed = members.change(world.by, member_id=gil.pk, expected_version=1, name="Gilbert", role="helper")

    assert (changed.adult, changed.share, changed.rounds, changed.prefers) == (True, 30, [0], ["look"])


def test_growing_up_is_one_change(world: World):
    kim = members.add(world.by, name="Kim", role="child")

    changed = members.change(
        world.by, member_id=kim.pk, expected_version=1, name="Kim", role="helper", adult=True, can_heat=True
    )

    assert (changed.adult, changed.can_heat, changed.version) == (True, True, 2)


@pytest.mark.parametrize(
    ("name", "value"),
    [("share", -1), ("share", 1001), ("max_week_minutes", -1), ("max_week_minutes", 10_081)],
)
def test_a_number_out_of_range_is_refused_at_its_field(world: World, name: str, value: int):
    assert list(refused(world, **{name: value})) == [name]


@pytest.mark.parametrize(
    "details", [{"share": 0, "max_week_minutes": 0}, {"share": 1000, "max_week_minutes": 10_080}]
)
def test_the_bounds_themselves_are_accepted(world: World, details: dict):
    member = members.add(world.by, name="Gil", role="helper", **details)

    assert {name: getattr(member, name) for name in details} == details


@pytest.mark.parametrize("rounds", [[21], [-1], [3, 3], [True]])
def test_rounds_that_no_week_has_are_refused_at_their_field(world: World, rounds: list):
    assert list(refused(world, rounds=rounds)) == ["rounds"]


def test_somebody_may_be_there_for_no_round(world: World):
    assert members.add(world.by, name="Gil", role="helper", rounds=[]).rounds == []


def test_an_unknown_detail_is_a_mistake_of_ours(world: World):
    with pytest.raises(TypeError, match="left_on"):
        members.add(world.by, name="Gil", role="helper", left_on=TODAY)


def test_chores_of_the_table_and_of_the_farm_may_be_liked(world: World):
    mow = own_chore(world)

    member = members.add(
        world.by, name="Gil", role="helper", prefers=[f"own:{mow.pk}", "look"], refuses=["weigh"]
    )

    assert (member.prefers, member.refuses) == (["look", f"own:{mow.pk}"], ["weigh"])


@pytest.mark.parametrize("field", ["prefers", "refuses"])
def test_a_chore_nobody_knows_is_refused_at_its_field(world: World, field: str):
    assert refused(world, **{field: ["look", "juggle"]}) == {field: ["Choose chores of the list."]}


def test_another_farms_own_chore_is_nobody_knows(world: World, elsewhere: World):
    theirs = own_chore(elsewhere)

    assert list(refused(world, prefers=[f"own:{theirs.pk}"])) == ["prefers"]


def test_a_chore_is_not_liked_and_refused_at_once(world: World):
    said = refused(world, prefers=["look", "weigh"], refuses=["weigh"])

    assert said == {"refuses": ["Weigh ten birds: chosen as liked too. Choose one of the two."]}


def test_refusing_what_was_liked_before_is_told_at_the_list_that_was_typed(world: World):
    gil = members.add(world.by, name="Gil", role="helper", refuses=["weigh"])

    with pytest.raises(BadInput) as caught:
        members.change(
            world.by, member_id=gil.pk, expected_version=None, name="Gil", role="helper", prefers=["weigh"]
        )

    assert list(caught.value.fields) == ["prefers"]


def test_a_chore_that_ended_meanwhile_does_not_stand_in_the_way(world: World):
    mow = own_chore(world)
    gil = members.add(world.by, name="Gil", role="helper", prefers=[f"own:{mow.pk}"])
    OwnChore.objects.filter(pk=mow.pk).update(ended_on=date(2026, 5, 1))

    changed = members.change(
        world.by, member_id=gil.pk, expected_version=1, name="Gil", role="helper", prefers=[f"own:{mow.pk}"]
    )

    assert changed.prefers == [f"own:{mow.pk}"]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    role=st.sampled_from(Role.values),
    later=st.sampled_from(Role.values),
    boxes=st.dictionaries(st.sampled_from(["adult", *ABLE]), st.booleans()),
    again=st.dictionaries(st.sampled_from(["adult", *ABLE]), st.booleans()),
)
def test_whatever_is_asked_a_child_never_gets_hot_work(world: World, role, later, boxes, again):
    name, refused = f"P{Member.objects.count()}", None
    try:
        member = members.add(world.by, name=name, role=role, **boxes)
        members.change(world.by, member_id=member.pk, expected_version=None, name=name, role=later, **again)
    except BadInput as said:
        refused = set(said.fields)
    assert refused is None or (refused <= set(FORBIDDEN) and Role.CHILD in (role, later))
    for child in Member.objects.filter(farm=world.farm, role=Role.CHILD):
        assert not any(getattr(child, column) for column in member_rules.NOT_FOR_A_CHILD)
