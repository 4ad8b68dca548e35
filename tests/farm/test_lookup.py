from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import NotFound
from farm.models import Housing
from farm.queries import lookup
from tests.conftest import World


def test_a_record_is_found_by_its_number_or_its_text(world: World):
    pen = world.housing["Pen 1"]

    assert lookup.get(Housing, farm_id=world.farm.pk, pk=pen.pk) == pen
    assert lookup.get(Housing, farm_id=world.farm.pk, pk=str(pen.pk)) == pen


def test_another_farms_record_is_said_not_to_exist_in_the_same_words(world: World, elsewhere: World):
    theirs = elsewhere.add_housing("Theirs")

    said = []
    for pk in (theirs.pk, 10**9):
        with pytest.raises(NotFound) as caught:
            lookup.get(Housing, farm_id=world.farm.pk, pk=pk)
        said.append(str(caught.value))

    assert said == ["There is no such housing on this farm."] * 2


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(st.one_of(st.text(), st.integers(), st.none(), st.just("9" * 40), st.just("²"), st.just("-1")))
def test_whatever_stands_in_the_place_of_a_number_is_not_found(world: World, pk: str | int | None):
    known = set(Housing.objects.values_list("pk", flat=True))
    if str(pk).isascii() and str(pk).isdigit() and int(pk) in known:
        return

    with pytest.raises(NotFound):
        lookup.get(Housing, farm_id=world.farm.pk, pk=pk)


@pytest.mark.parametrize("pk", [None, ""])
def test_an_empty_choice_is_no_record(world: World, pk: str | None):
    assert lookup.get_or_none(Housing, farm_id=world.farm.pk, pk=pk) is None


def test_a_choice_that_is_not_of_this_farm_is_refused(world: World, elsewhere: World):
    theirs = elsewhere.add_housing("Theirs")

    with pytest.raises(NotFound):
        lookup.get_or_none(Housing, farm_id=world.farm.pk, pk=theirs.pk)
