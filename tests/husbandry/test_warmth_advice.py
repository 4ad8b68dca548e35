"""Warmer or cooler: the birds come before the thermometer, the thermometer before the table."""

from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import heat
from farm.husbandry.advice.warmth import (
    COOLER,
    DRAUGHT,
    FAR,
    FINE,
    LOOK,
    NEAREST,
    WARMER,
    Reading,
    Seen,
    advise,
)
from farm.trade.behaviours import behaviours
from farm.trade.cautions import cautions
from farm.trade.load import programmes

BROWN = programmes()["chicken_layer_brown"]
NOW = datetime(2026, 4, 10, 18)
WORDS = st.sampled_from(sorted(behaviours()))
LOOKS = st.lists(
    st.builds(Seen, st.integers(0, 40).map(lambda h: NOW - timedelta(hours=h)), WORDS, st.integers(0, 2)),
    max_size=6,
)
READINGS = st.lists(
    st.builds(Reading, st.integers(0, 40).map(lambda h: NOW - timedelta(hours=h)), st.floats(5, 45)),
    max_size=4,
)
KEYS = st.sampled_from(sorted(programmes()))


def ago(hours, word, near=NEAREST):
    return Seen(NOW - timedelta(hours=hours), word, near)


def read(temp_c, hours=0, near=NEAREST):
    return Reading(NOW - timedelta(hours=hours), temp_c, near)


def said(advice):
    return " ".join(str(words) for words in advice.words)


def test_huddled_chicks_are_made_warmer_by_a_step_of_the_table_though_the_thermometer_is_right():
    advice = advise(BROWN, 7, [read(32.2)], [ago(0, "huddled")], NOW)
    assert (advice.verdict, advice.change_c, advice.to_c) == (WARMER, pytest.approx(2.8), pytest.approx(35))
    assert "Make it 2.8 °C warmer: 35.0 °C." in said(advice)
    assert advice.cautions == ("heat_lamp", "cord")


def test_panting_chicks_are_made_cooler_by_a_step_though_the_table_wants_it_so():
    advice = advise(BROWN, 0, [], [ago(0, "away")], NOW)
    assert (advice.verdict, advice.change_c) == (COOLER, pytest.approx(-2.8))
    assert advice.to_c == pytest.approx(heat.set_temp_c(BROWN, 0) - 2.8)


def test_chicks_pushed_to_one_side_are_in_a_draught_and_no_warmth_is_changed():
    advice = advise(BROWN, 7, [read(25)], [ago(0, "one_side")], NOW)
    assert (advice.verdict, advice.change_c, advice.cautions) == (DRAUGHT, 0, ())
    assert said(advice) == "Draught: shield that side"


def test_chicks_that_lie_well_are_left_alone_whatever_the_thermometer_says():
    advice = advise(BROWN, 7, [read(27)], [ago(0, "even")], NOW)
    assert (advice.verdict, advice.change_c) == (FINE, 0)
    assert "27.0 °C is not the table's 32.2 °C, but they are well: leave it." in said(advice)


@given(KEYS, st.integers(0, 120), READINGS, LOOKS)
def test_whatever_was_noted_the_birds_outrank_thermometer_and_table(key, age, readings, looks):
    advice = advise(programmes()[key], age, readings, looks, NOW)
    recent = [look for look in looks if NOW - look.at <= timedelta(hours=24)]
    if not recent:
        assert advice.verdict in (WARMER, COOLER, FINE, LOOK)
        return
    latest = max(look.at for look in recent)
    last_look = [look for look in recent if latest - look.at <= timedelta(hours=1)]
    nearest = min(look.near for look in last_look)
    verdicts = {behaviours()[look.word].verdict for look in last_look if look.near == nearest}
    asked = {"cold": WARMER, "hot": COOLER, "draught": DRAUGHT, "ok": FINE}
    assert advice.verdict in {asked[verdict] for verdict in verdicts}
    assert (advice.change_c > 0) == (advice.verdict == WARMER)
    assert (advice.change_c < 0) == (advice.verdict == COOLER)


@given(KEYS, st.integers(0, 120), READINGS, LOOKS, st.randoms())
def test_advice_does_not_hang_on_the_order_of_entries_of_different_times(key, age, readings, looks, random):
    looks = list({look.at: look for look in looks}.values())
    readings = list({each.at: each for each in readings}.values())
    mixed = random.sample(looks, len(looks))
    one = advise(programmes()[key], age, readings, looks, NOW)
    assert advise(programmes()[key], age, readings[::-1], mixed, NOW) == one


def test_the_latest_look_counts_and_the_earlier_one_is_named():
    advice = advise(BROWN, 7, [], [ago(9, "huddled"), ago(1, "away")], NOW)
    assert advice.verdict == COOLER
    assert said(advice).endswith(
        "Seen before: “Piled under the heat, loud sharp calls, ruffled”. The latest look counts."
    )


def test_within_one_look_the_nearest_counts_and_the_other_is_named():
    advice = advise(BROWN, 7, [], [ago(0, "away", FAR), ago(0.5, "huddled", NEAREST)], NOW)
    assert advice.verdict == WARMER
    assert "What was seen nearest to them counts; look again soon." in said(advice)


def test_two_who_saw_the_same_do_not_contradict_each_other():
    advice = advise(BROWN, 7, [], [ago(0, "huddled"), ago(5, "piled_morning")], NOW)
    assert len(advice.words) == 2


def test_yesterdays_look_counts_no_more():
    assert advise(BROWN, 7, [], [ago(25, "huddled")], NOW).verdict == LOOK
    assert advise(BROWN, 7, [read(20, hours=25)], [], NOW).verdict == LOOK


def test_a_look_from_the_future_is_a_slip_and_does_not_count():
    assert advise(BROWN, 7, [], [ago(-2, "huddled")], NOW).verdict == LOOK


@pytest.mark.parametrize(
    "temp_c, verdict, change", [(32, FINE, 0), (33.7, FINE, 0), (27.2, WARMER, 5), (36.2, COOLER, -4)]
)
def test_without_a_look_the_thermometer_is_held_against_the_table(temp_c, verdict, change):
    advice = advise(BROWN, 7, [read(temp_c)], [], NOW)
    assert (advice.verdict, advice.change_c) == (verdict, pytest.approx(change))
    assert "ow they lie" in said(advice)


def test_birds_still_cold_a_whole_step_above_the_table_are_a_case_for_the_vet():
    advice = advise(BROWN, 7, [read(35.5)], [ago(0, "huddled")], NOW)
    assert advice.vet
    assert "ask your vet" in said(advice)
    assert not advise(BROWN, 7, [read(33)], [ago(0, "huddled")], NOW).vet
    assert advise(BROWN, 7, [read(29)], [ago(0, "away")], NOW).vet


def test_the_last_step_of_the_table_serves_older_birds_too():
    assert advise(BROWN, 90, [], [ago(0, "huddled")], NOW).change_c == pytest.approx(2.8)


def test_every_caution_it_names_exists():
    assert set(advise(BROWN, 1, [], [ago(0, "huddled")], NOW).cautions) <= set(cautions())


def test_a_behaviour_nobody_knows_is_refused():
    with pytest.raises(KeyError):
        advise(BROWN, 1, [], [ago(0, "singing")], NOW)
