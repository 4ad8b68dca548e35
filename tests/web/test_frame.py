"""What every page shares: who is let in, which farm, units in forms, refusals beside their fields."""

from __future__ import annotations

import pytest
from django import forms
from django.http import HttpRequest
from django.test import RequestFactory
from hypothesis import given
from hypothesis import strategies as st

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Farm
from farm.models.farm import Units
from farm.web.access import visit_of
from farm.web.forms import FarmForm, QuantityField
from farm.web.mishaps import MishapMiddleware, shown_in
from farm.web.templatetags.farm_words import spell
from tests.conftest import World, make_world


class BoxForm(FarmForm):
    area_m2 = QuantityField(unit="m2", label="floor", min_value=0.05, max_value=5000)
    name = forms.CharField(required=False)


def in_feet() -> Farm:
    return Farm(name="Feet", units=Units.US)


def test_a_us_farm_types_square_feet_and_square_metres_are_kept():
    form = BoxForm({"area_m2": "10"}, farm=in_feet())

    assert form.is_valid()
    assert form.cleaned_data["area_m2"] == pytest.approx(0.92903, abs=1e-5)
    assert form.fields["area_m2"].label == "floor (ft²)"


def test_a_stored_number_is_shown_in_the_farms_units_and_typed_text_as_typed():
    assert 'value="10.764"' in str(BoxForm(initial={"area_m2": 1.0}, farm=in_feet())["area_m2"])
    assert 'value="1o"' in str(BoxForm({"area_m2": "1o"}, farm=in_feet())["area_m2"])


def test_bounds_are_judged_in_si():
    assert not BoxForm({"area_m2": "0.3"}, farm=in_feet()).is_valid()  # 0.028 m²
    assert BoxForm({"area_m2": "0.6"}, farm=in_feet()).is_valid()  # 0.056 m²


@given(st.floats(0.06, 4000))
def test_opening_and_saving_a_form_unchanged_moves_a_number_by_less_than_it_shows(area: float):
    shown = BoxForm(initial={"area_m2": area}, farm=in_feet())["area_m2"].value()
    form = BoxForm({"area_m2": str(shown)}, farm=in_feet())

    assert form.is_valid()
    assert form.cleaned_data["area_m2"] == pytest.approx(area, abs=0.0001)


def test_a_refusal_stands_beside_its_field_and_unknown_fields_above_the_form():
    form = BoxForm({"area_m2": "1"}, farm=in_feet())
    assert form.is_valid()

    with shown_in(form):
        raise BadInput({"name": ["Taken."], "elsewhere": ["Something else."]})

    assert form.errors == {"name": ["Taken."], "__all__": ["Something else."]}


def test_a_stale_form_is_told_what_changed():
    form = BoxForm({"area_m2": "1"}, farm=in_feet())
    assert form.is_valid()

    with shown_in(form):
        raise Stale("Somebody changed this.", changes=["Bea: moved 4 birds"])

    assert form.non_field_errors() == ["Somebody changed this.", "Bea: moved 4 birds"]


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (NotFound("There is no such batch on this farm."), 404),
        (NotAllowed("Only a keeper may do this."), 403),
        (Stale("Changed.", changes=["Bea: moved 4 birds"]), 409),
        (BadInput.at("birds", "Too many."), 422),
    ],
)
def test_a_refusal_no_page_caught_has_a_plain_page_of_its_own(db, error: Exception, status: int):
    reply = MishapMiddleware(lambda request: None).process_exception(_get(), error)

    assert reply.status_code == status
    assert str(error).encode() in reply.content


def test_other_errors_are_left_to_django():
    assert MishapMiddleware(lambda request: None).process_exception(_get(), KeyError("x")) is None


def test_the_farm_of_a_visit_is_the_sessions_if_the_login_still_belongs_to_it(world: World):
    other = make_world("second@example.org", "Second Farm")
    other.keeper.login = world.by.login
    other.keeper.save()

    assert visit_of(_visit(world, {"farm_id": other.farm.pk})).farm == other.farm
    assert visit_of(_visit(world, {"farm_id": 10**9})).farm == world.farm
    other.keeper.left_on = world.by.today
    other.keeper.save()
    assert visit_of(_visit(world, {"farm_id": other.farm.pk})).farm == world.farm


def _get() -> HttpRequest:
    return RequestFactory().get("/")


def _visit(world: World, session: dict) -> HttpRequest:
    request = _get()
    request.user, request.session = world.by.login, session
    return request


@pytest.mark.parametrize(
    ("minutes", "words"), [(0, "0 min"), (59, "59 min"), (60, "1 h"), (293, "4 h 53 min")]
)
def test_minutes_are_said_as_a_person_plans_them(minutes: int, words: str):
    assert spell(minutes) == words
