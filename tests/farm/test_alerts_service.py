"""Alerts: raised with cause, once, kept while it lasts, withdrawn when it does not, and told to keepers by letter."""

from datetime import timedelta

import pytest
from django.core import mail

from farm.errors import NotFound
from farm.models import Alert, Farm, Forecast
from farm.planning.window import Window
from farm.queries import agenda
from farm.queries import alerts as read
from farm.services import alerts, counts, stays, weather
from farm.trade import load
from farm.trade.general import figure
from farm.web.alerts import letters
from tests.conftest import NOON, TODAY
from tests.farm.weather_world import day, forecast, settle

HOUR = timedelta(hours=1)


@pytest.fixture
def greys(world):
    """Nine-week-old birds in an unheated pen, on a farm that asks for forecasts."""
    batch = world.add_batch("Greys", age=63, housing="Brooder 1")
    move(world, batch, "Brooder 1", "Pen 1")
    settle(world)
    return batch


def move(world, batch, old, new):
    places = {"from_id": world.housing[old].pk, "to_id": world.housing[new].pk}
    stays.move(world.by, batch_id=batch.pk, birds=40, day=TODAY, **places)


def refresh(world, hours=0):
    return alerts.refresh(farm_id=world.farm.pk, now=NOON + HOUR * hours)


def standing(world):
    return [alert.key.split(":")[0] + f" {alert.day:%d.%m}" for alert in read.standing(world.farm)]


def letter(world, hours=0):
    mail.outbox.clear()
    letters.send(farm_id=world.farm.pk, now=NOON + HOUR * hours)
    return mail.outbox[0].body if mail.outbox else None


def test_a_frost_is_an_alert_for_the_evening_before(world, greys):
    forecast(world, {1: -12.0, 2: 15.0})
    assert refresh(world)
    assert standing(world) == ["cold 01.05"]
    (alert,) = read.standing(world.farm)
    assert (alert.batch, alert.housing) == (greys, world.housing["Pen 1"])
    assert "-12 °C is forecast outside" in str(read.words(alert))


def test_mild_nights_alarm_nobody(world, greys):
    forecast(world, {1: 14.0, 2: 14.0, 3: 14.0})
    assert not refresh(world)
    assert standing(world) == []


def test_without_a_forecast_the_climate_alone_alarms_nobody(world, greys):
    weather.enter(world.by, months={"low_mean_c": [-20.0] * 12, "low_sd_c": [1.0] * 12} | rest())
    assert not refresh(world)


def rest():
    return {"high_mean_c": [20.0] * 12, "high_sd_c": [4.0] * 12}


def test_nights_further_off_than_the_table_says_wait(world, greys):
    ahead = int(figure("outdoors", "alert_days"))
    forecast(world, {ahead: -12.0, ahead + 1: -12.0})
    refresh(world)
    assert standing(world) == [f"cold {day(ahead - 1):%d.%m}"]


def test_birds_with_their_heat_on_are_left_to_their_thermometer(world):
    world.add_batch("Chicks", age=3, housing="Brooder 1")
    settle(world)
    forecast(world, {1: -20.0})
    assert not refresh(world)


def test_a_warmer_housing_needs_no_alert(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    cold = standing(world)
    Alert.objects.all().delete()
    world.housing["Pen 1"].supplement_c = 20.0
    world.housing["Pen 1"].save()
    refresh(world)
    assert (cold, standing(world)) == (["cold 01.05"], [])


def test_run_again_it_raises_nothing_twice(world, greys):
    forecast(world, {1: -12.0})
    for hours in range(3):
        refresh(world, hours)
    assert Alert.objects.count() == 1


def test_a_forecast_that_turns_takes_the_alert_back(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    letter(world)
    forecast(world, {1: 14.0})
    assert refresh(world, 1)
    assert standing(world) == []
    assert "no longer holds" in letter(world, 1)


def test_one_that_wavers_stays_rather_than_come_and_go(world, greys):
    forecast(world, {1: -12.0})
    lows = [tenths / 10 for tenths in range(-120, 50, 5)]
    raised, kept = [], []
    for low in lows:
        Forecast.objects.update(days={day(1).isoformat(): [low, None]})
        refresh(world)
        raised.append(low) if standing(world) else None
        Alert.objects.all().delete()
    Forecast.objects.update(days={day(1).isoformat(): [-12.0, None]})
    refresh(world)
    for low in lows:
        Forecast.objects.update(days={day(1).isoformat(): [low, None]})
        refresh(world)
        kept.append(low) if standing(world) else None
    assert raised
    assert set(raised) < set(kept) < set(lows)


def test_a_stale_forecast_neither_raises_nor_withdraws(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    forecast(world, {1: 14.0}, fetched_at=NOON - timedelta(hours=30))
    refresh(world)
    assert standing(world) == ["cold 01.05"]
    Alert.objects.all().delete()
    forecast(world, {1: -12.0}, fetched_at=NOON - timedelta(hours=30))
    assert not refresh(world)


def test_a_night_that_is_over_is_closed_without_a_letter(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    letter(world)
    assert not refresh(world, 24)
    assert (standing(world), letter(world, 24)) == ([], None)


def test_moving_them_in_takes_the_alert_back(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    move(world, greys, "Pen 1", "Brooder 1")
    world.housing["Brooder 1"].supplement_c = 25.0
    world.housing["Brooder 1"].save()
    refresh(world)
    assert standing(world) == []


def test_a_hot_day_is_one_alert_for_the_whole_farm(world, greys):
    world.add_batch("More", age=63, housing="Brooder 2", birds=4)
    forecast(world, {}, {0: 36.0, 1: 25.0})
    refresh(world)
    assert standing(world) == ["hot 01.05"]


def test_a_farm_without_birds_is_not_told_of_heat(world):
    settle(world)
    forecast(world, {}, {0: 40.0})
    assert not refresh(world)


def test_many_deaths_are_an_alert_and_a_slip_taken_back_withdraws_it(world, greys):
    entry = counts.add(world.by, batch_id=greys.pk, kind="died", birds=9, day=TODAY)
    assert refresh(world)
    assert standing(world) == ["losses 01.05"]
    assert "9" in letter(world)
    counts.reverse(world.by, entry_id=entry.pk)
    refresh(world)
    assert standing(world) == []
    assert "no longer holds" in letter(world)


def test_a_death_now_and_then_is_no_alert(world, greys):
    counts.add(world.by, batch_id=greys.pk, kind="died", birds=1, day=TODAY)
    assert not refresh(world)


def test_birds_sold_are_not_lost(world, greys):
    counts.add(world.by, batch_id=greys.pk, kind="sold", birds=30, day=TODAY)
    assert not refresh(world)


def test_losses_are_shown_for_a_week(world, greys):
    counts.add(world.by, batch_id=greys.pk, kind="died", birds=9, day=TODAY)
    shown = int(figure("losses", "alarm_shown_days"))
    refresh(world)
    refresh(world, 24 * (shown - 1))
    assert standing(world) == ["losses 01.05"]
    refresh(world, 24 * shown)
    assert standing(world) == []


def test_an_open_alert_is_work_on_its_day_and_none_once_withdrawn(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    window = Window(TODAY, 3)
    found = [item for item in agenda.for_farm(world.farm, window, TODAY) if item.source.startswith("alert:")]
    assert [(item.job, item.due, item.round, item.room) for item in found] == [
        ("cold_night", TODAY, "evening", str(world.housing["Pen 1"].pk))
    ]
    assert found[0].minutes > 0
    assert agenda.find(world.farm, found[0].source, TODAY, "evening", TODAY) is not None
    forecast(world, {1: 14.0})
    refresh(world)
    assert not [
        item for item in agenda.for_farm(world.farm, window, TODAY) if item.source.startswith("alert:")
    ]


def test_losses_stay_on_the_list_for_days(world, greys):
    counts.add(world.by, batch_id=greys.pk, kind="died", birds=9, day=TODAY)
    refresh(world)
    later = agenda.on_day(world.farm, day(2), day(2))
    assert [due.item.job for due in later.before if due.item.source.startswith("alert:")] == ["losses"]


def test_every_keeper_with_a_login_gets_one_letter_about_all_and_helpers_none(world, greys):
    world.add_member("Bo", "keeper")
    world.add_member("Cara", "helper")
    world.add_member("Dan", "keeper", login=False)
    forecast(world, {1: -12.0, 2: -12.0}, {1: 36.0})
    refresh(world)
    letter(world)
    assert sorted(message.to[0].split("@")[0].split(".")[0] for message in mail.outbox) == ["ada", "bo"]
    assert all(message.body.count("\n- ") == 3 for message in mail.outbox)
    assert letter(world) is None


def test_a_cold_spell_is_one_letter_and_work_every_evening(world, greys):
    forecast(world, dict.fromkeys(range(1, 6), -12.0))
    refresh(world)
    assert letter(world) is not None
    for days in (1, 2, 3):
        Forecast.objects.update(fetched_at=NOON + HOUR * 24 * days)
        refresh(world, 24 * days)
        assert letter(world, 24 * days) is None
        assert f"cold {day(days):%d.%m}" in standing(world)


def test_a_letter_that_cannot_be_sent_is_tried_again(world, greys, monkeypatch):
    forecast(world, {1: -12.0})
    refresh(world)

    def broken(*_args, **_kwargs):
        raise OSError("no mail today")

    with monkeypatch.context() as patch:
        patch.setattr(letters, "send_mail", broken)
        with pytest.raises(OSError, match="no mail"):
            letters.send(farm_id=world.farm.pk, now=NOON)
    assert letter(world) is not None


def test_one_withdrawn_before_anybody_was_told_is_never_spoken_of(world, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    forecast(world, {1: 14.0})
    assert not refresh(world)
    assert letter(world) is None


def test_the_same_night_can_alarm_again_after_it_was_taken_back(world, greys):
    for low in (-12.0, 14.0, -12.0):
        forecast(world, {1: low})
        refresh(world)
    assert standing(world) == ["cold 01.05"]
    assert Alert.objects.count() == 2


def test_the_farms_version_rises_when_alerts_change_and_only_then(world, greys):
    forecast(world, {1: -12.0})
    before = Farm.objects.get(pk=world.farm.pk).version
    refresh(world)
    refresh(world)
    assert Farm.objects.get(pk=world.farm.pk).version == before + 1


def test_a_farm_sees_its_own_alerts_alone(world, elsewhere, greys):
    forecast(world, {1: -12.0})
    refresh(world)
    assert not alerts.refresh(farm_id=elsewhere.farm.pk, now=NOON)
    assert read.standing(elsewhere.farm) == []


def test_a_farm_that_is_gone_is_not_found(db):
    with pytest.raises(NotFound):
        alerts.refresh(farm_id=404, now=NOON)


def test_every_programme_has_the_work_alerts_ask_for():
    for programme in load.programmes().values():
        assert set(read.JOBS.values()) <= set(programme.jobs)
