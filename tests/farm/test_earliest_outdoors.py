"""When birds may live outdoors: one date for planner, agenda, stays and pages; without a climate it is age alone."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.errors import BadInput
from farm.husbandry import outdoors
from farm.husbandry.climate import Climate, MonthlyClimate
from farm.husbandry.going_out import Shelter
from farm.husbandry.outlook import Outlook
from farm.models import Batch, HistoryEntry
from farm.planning import plan_check, solve
from farm.planning.window import Window
from farm.queries import agenda, out_dates, planning, programmes
from farm.queries import weather as read
from farm.queries.planned import earliest_outdoors
from farm.services import batches, history, housings, stays, weather
from farm.trade import load
from tests.conftest import TODAY
from tests.farm.weather_world import STILL, day, forecast, months, settle

BROWN = load.programmes()["chicken_layer_brown"]


@pytest.fixture
def browns(world) -> Batch:
    """Forty chicks a fortnight old on the first of May, and a paddock."""
    world.add_housing("Paddock", kind="paddock", area_m2=200.0, heated=False, indoor=False)
    return world.add_batch("Browns", housing="Brooder 1")


def step(world, name):
    items = agenda.for_farm(world.farm, Window(TODAY, 300), TODAY)
    return next((item for item in items if f"/{name}/" in item.source), None)


def planned(world):
    return planning.problem(world.farm, TODAY).batches[0]


def test_without_a_climate_age_alone_decides(world, browns):
    by_age = browns.hatch_day + timedelta(days=outdoors.nights_out_age(BROWN))
    assert earliest_outdoors(BROWN, browns.hatch_day) == by_age
    assert planned(world).outdoors_from is None
    assert step(world, "night_out") is None


def test_planner_agenda_and_page_say_the_same_day(world, browns):
    settle(world)
    sky = read.of(world.farm)
    first = earliest_outdoors(programmes.of(browns), browns.hatch_day, sky)
    assert first > browns.hatch_day + timedelta(days=outdoors.nights_out_age(BROWN))
    assert planned(world).outdoors_from == first
    assert step(world, "night_out").due == first
    assert out_dates.of(browns, TODAY).night.day == first


def test_the_step_says_why_with_the_caution_and_takes_no_time(world, browns):
    settle(world)
    found = step(world, "night_out")
    assert "nights may be too cold for them" in str(found.why)
    assert any("rule of thumb" in str(line) for line in found.checklist)
    assert found.minutes == 0


def test_the_first_hours_outdoors_come_when_the_afternoons_do(world, browns):
    settle(world)
    sky = read.of(world.farm)
    assert step(world, "first_out").due == sky.day(programmes.of(browns), browns.hatch_day).day


def test_warm_nights_hold_nobody_back_and_leave_the_problem_as_it_was(world, browns):
    before = planning.problem(world.farm, TODAY).digest
    settle(world, **STILL)
    assert planned(world).outdoors_from is None
    assert planning.problem(world.farm, TODAY).digest == before


def test_the_digest_changes_with_the_climate_and_is_the_same_for_the_same(world, browns):
    settle(world)
    one, again = (planning.problem(world.farm, TODAY).digest for _ in range(2))
    assert one == again
    weather.enter(world.by, months=months(low_sd_c=[6.0] * 12))
    assert planning.problem(world.farm, TODAY).digest != one


def test_more_care_never_lets_them_out_sooner(world, browns):
    settle(world)
    found = []
    for sure in (0.6, 0.9, 0.99):
        weather.prefer(world.by, expected_version=None, confidence=sure, use_forecast=False)
        found.append(planned(world).outdoors_from)
    assert found == sorted(found)
    assert found[0] < found[-1]


def test_a_plan_keeps_them_in_until_that_day(world, browns):
    world.add_housing("Pen 2", kind="pen", area_m2=30.0, heated=False)
    settle(world)
    problem = planning.problem(world.farm, TODAY)
    solution = solve.solve(problem, seed=1, iterations=30)
    outside = {each.key for each in problem.housings if not each.indoor}
    first = [
        stay.start
        for plan in solution.plans
        for part in plan.parts
        for stay in part.stays
        if stay.housing in outside
    ]
    assert all(start >= problem.batches[0].outdoors_from for start in first)
    assert "outdoors" not in {fault.kind for fault in plan_check.faults(problem, solution)}


def move(world, batch, start, **fields):
    places = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Paddock"].pk}
    return stays.move(world.by, batch_id=batch.pk, birds=40, day=start, **places, **fields)


def test_a_move_outdoors_too_early_asks_for_a_reason(world, browns):
    settle(world)
    first = planned(world).outdoors_from
    with pytest.raises(BadInput) as refused:
        move(world, browns, first - timedelta(days=1))
    assert list(refused.value.fields) == ["override_reason"]
    assert move(world, browns, first).start == first


def test_with_a_written_reason_they_may_go_sooner(world, browns):
    settle(world)
    early = planned(world).outdoors_from - timedelta(days=3)
    assert move(world, browns, early, override_reason="a heated house stands in it").start == early


def test_a_climate_learned_later_does_not_lock_a_batch_that_is_out_already(world, browns):
    move(world, browns, day(40))
    settle(world, low_mean_c=[-5.0] * 12)
    changed = batches.change(world.by, batch_id=browns.pk, expected_version=None, name="Reds")
    assert changed.name == "Reds"


def test_what_was_planned_before_the_nights_were_known_can_be_brought_back(world, browns):
    early = move(world, browns, day(40))
    settle(world, low_mean_c=[-5.0] * 12)
    stays.remove(world.by, stay_id=early.pk)
    history.undo(world.by, entry_id=HistoryEntry.objects.latest("pk").pk)
    assert browns.stays.filter(start=early.start, housing=early.housing).exists()
    stays.change(
        world.by,
        stay_id=early.pk,
        expected_version=None,
        start=early.start,
        end=day(90),
        override_reason="kept in",
    )
    history.undo(world.by, entry_id=HistoryEntry.objects.latest("pk").pk)
    assert browns.stays.get(pk=early.pk).end == early.end


def test_a_night_house_in_the_paddock_lets_them_out_sooner(world, browns):
    settle(world)
    cold = planned(world).outdoors_from
    housings.change(world.by, housing_id=world.housing["Paddock"].pk, expected_version=None, supplement_c=6.0)
    warm = planned(world).outdoors_from
    assert warm is None or warm < cold


def test_the_least_warm_outdoor_housing_speaks_for_all(world, browns):
    settle(world)
    alone = planned(world).outdoors_from
    world.add_housing("Run", kind="run", area_m2=60.0, heated=False, indoor=False, supplement_c=8.0)
    assert planned(world).outdoors_from == alone


def test_a_cold_forecast_holds_them_back_and_a_forgotten_one_does_not(world):
    world.add_batch("Greys", age=42, housing="Brooder 1")
    settle(world, **STILL)
    assert planned(world).outdoors_from is None
    # Nights stray enough for a forecast to know more than the climate, and are warm all the same.
    weather.enter(world.by, months=STILL | {"low_mean_c": [26.0] * 12, "low_sd_c": [8.0] * 12})
    forecast(world, dict.fromkeys(range(1, 6), -12.0))
    held = planned(world).outdoors_from
    assert held is not None
    assert held >= day(5)
    assert step(world, "night_out").due == held
    weather.prefer(world.by, expected_version=None, confidence=0.9, use_forecast=False)
    assert planned(world).outdoors_from is None


def test_where_no_night_is_ever_safe_they_are_held_for_a_year(world, browns):
    settle(world, low_mean_c=[-20.0] * 12)
    by_age = browns.hatch_day + timedelta(days=outdoors.nights_out_age(BROWN))
    assert planned(world).outdoors_from == by_age + timedelta(days=365)
    assert step(world, "night_out") is None


def test_each_answer_is_worked_out_once(world, browns, monkeypatch):
    settle(world)
    asked = []
    original = read.first_night_out
    monkeypatch.setattr(read, "first_night_out", lambda *a, **k: asked.append(a) or original(*a, **k))
    for number in range(3):
        world.add_batch(f"More {number}", housing="Brooder 2", birds=2)
    planning.problem(world.farm, TODAY)
    assert len(asked) == 1


@settings(max_examples=25)
@given(
    shift=st.floats(-15, 15),
    warmer=st.floats(0, 10),
    hatch=st.integers(0, 364),
    key=st.sampled_from(sorted(load.programmes())),
)
def test_warmer_shelters_never_come_later_and_nobody_goes_before_their_age(shift, warmer, hatch, key):
    programme = load.programmes()[key]
    numbers = months(low_mean_c=[low + shift for low in months()["low_mean_c"]])
    numbers["high_mean_c"] = [
        max(pair) for pair in zip(numbers["high_mean_c"], numbers["low_mean_c"], strict=True)
    ]
    sky = read.Sky(Outlook(Climate(MonthlyClimate(**{k: tuple(v) for k, v in numbers.items()}))), 0.9)
    born = TODAY + timedelta(days=hatch)
    by_age = born + timedelta(days=outdoors.nights_out_age(programme))
    open_air = sky.held_back(programme, born) or by_age
    housed = sky.held_back(programme, born, Shelter(True, warmer)) or by_age
    assert by_age <= housed <= open_air
    assert earliest_outdoors(programme, born, sky) == open_air
