"""Quick entry on the pages: plain sentences are recorded, doubtful ones shown or asked back first, nothing is lost."""

from datetime import timedelta

import pytest
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.models import CountEntry, HistoryEntry, Observation, Stay
from farm.queries import heads
from farm.web.quick import grammar
from tests.conftest import TODAY


@pytest.fixture(autouse=True)
def at_noon(monkeypatch, world):
    """Hold the pages' clock at noon of the test world's day."""
    monkeypatch.setattr("farm.web.clock.now", lambda: world.by.now)


@pytest.fixture
def browns(world):
    return world.add_batch("Browns", housing="Brooder 1", birds=40, age=14)


@pytest.fixture
def ducks(world):
    return world.add_batch("Pond ducks", housing="Brooder 2", birds=12, age=20, programme="duck")


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


def write(client, text, **more):
    return client.post(reverse("quick"), {"text": text, "key": "k1", "back": "today"} | more)


def rows():
    return CountEntry.objects.count(), Observation.objects.count(), Stay.objects.count()


def words(answer):
    return " ".join(answer.content.decode().split())


def test_a_plain_sentence_is_recorded_and_said_back(world, ada, browns):
    answer = ada.post(reverse("quick"), {"text": "3 died", "back": "today"}, follow=True)
    entry = CountEntry.objects.latest("pk")
    assert (entry.batch, entry.kind, entry.birds, entry.day) == (browns, "died", -3, TODAY)
    assert "Recorded: Browns: 3 birds died." in words(answer)


def test_the_box_leads_back_to_where_it_stood(world, ada, browns):
    assert write(ada, "3 died").url == reverse("today")
    assert write(ada, "2 died", back=str(browns.pk)).url == reverse("batch", args=[browns.pk])


def test_a_place_in_the_sentence_decides_between_batches_and_is_kept(world, ada, browns, ducks):
    write(ada, "2 culled in brooder 2")
    entry = CountEntry.objects.latest("pk")
    assert (entry.batch, entry.housing) == (ducks, world.housing["Brooder 2"])


def test_several_batches_in_question_are_asked_for_and_nothing_is_recorded(world, ada, browns, ducks):
    before = rows()
    page = words(write(ada, "3 died"))
    assert "Which batch?" in page
    assert "Browns (40 birds, Brooder 1)" in page
    assert "Pond ducks (12 birds, Brooder 2)" in page
    assert 'value="3 died"' in page
    assert rows() == before


def test_the_answer_to_the_question_records_the_sentence(world, ada, browns, ducks):
    write(ada, "3 died", batch=str(ducks.pk))
    assert heads.alive_on(ducks, TODAY) == 9


def test_on_a_batchs_page_a_sentence_is_about_that_batch_unless_it_names_another(world, ada, browns, ducks):
    write(ada, "3 died", back=str(ducks.pk))
    write(ada, "1 Browns died", back=str(ducks.pk))
    assert (heads.alive_on(ducks, TODAY), heads.alive_on(browns, TODAY)) == (9, 39)


def test_another_farms_batch_as_an_answer_or_a_page_is_not_found(world, elsewhere, ada, browns):
    strange = elsewhere.add_batch("Strange", birds=30)
    before = rows()
    assert write(ada, "3 died", back=str(strange.pk)).status_code == 404
    assert "There are no such birds" in words(write(ada, "3 died", batch=str(strange.pk)))
    assert rows() == before


def test_birds_are_moved_from_where_they_are(world, ada, ducks):
    write(ada, "moved 5 to Brooder 1")
    assert heads.alive_on(ducks, TODAY) == 12
    there = {stay.housing.name: birds for stay, birds in heads.places_on(ducks, TODAY)[0]}
    assert there == {"Brooder 1": 5, "Brooder 2": 7}


def test_a_move_from_two_places_asks_from_where_and_then_moves_all_of_them(world, ada, ducks):
    world.add_housing("Brooder 3")
    write(ada, "moved 5 to Brooder 1")
    page = words(write(ada, "moved all to Brooder 3"))
    assert "From where?" in page
    source = str(world.housing["Brooder 1"].pk)
    assert "Is this right?" in words(write(ada, "moved all to Brooder 3", **{"from": source}))
    write(ada, "moved all to Brooder 3", **{"from": source, "sure": "1"})
    there = {stay.housing.name: birds for stay, birds in heads.places_on(ducks, TODAY)[0]}
    assert there == {"Brooder 3": 5, "Brooder 2": 7}


def test_the_same_move_a_moment_later_is_asked_about_first(world, ada, ducks):
    write(ada, "moved 5 to Brooder 1")
    page = words(write(ada, "moved 5 to Brooder 1"))
    assert "Is this right?" in page
    assert {stay.birds for stay in Stay.objects.filter(batch=ducks, end=None)} == {5, 7}


def test_a_move_into_the_cold_is_refused_with_the_sentence_kept_and_the_longer_form_offered(
    world, ada, browns
):
    before = rows()
    page = words(write(ada, "moved 5 to Pen 1"))
    assert "Pen 1 has no heat" in page
    assert 'value="moved 5 to Pen 1"' in page
    assert reverse("batch-move", args=[browns.pk]) in page
    assert rows() == before


def test_a_behaviour_is_recorded_with_its_place_and_answered_with_advice(world, ada, browns):
    answer = ada.post(reverse("quick"), {"text": "they huddle", "back": "today"}, follow=True)
    seen = Observation.objects.get()
    assert (seen.word, seen.batch, seen.housing) == ("huddled", browns, world.housing["Brooder 1"])
    assert "Too cold: add heat or lower the source." in words(answer)


def test_a_behaviour_that_may_be_in_two_places_asks_where(world, ada, browns, ducks):
    page = words(write(ada, "they huddle"))
    assert "Where?" in page
    assert not Observation.objects.exists()
    write(ada, "they huddle", place=str(world.housing["Brooder 2"].pk))
    assert Observation.objects.get().batch == ducks


def test_a_shared_place_is_observed_without_saying_which_batch(world, ada, browns):
    world.add_batch("Whites", housing="Brooder 1", age=13, programme="chicken_layer_white")
    write(ada, "31 °C in Brooder 1")
    seen = Observation.objects.get()
    assert (seen.value, seen.batch, seen.housing) == (31.0, None, world.housing["Brooder 1"])


def test_an_empty_place_has_a_temperature_too(world, ada, browns):
    write(ada, "33 °C in Brooder 2")
    assert Observation.objects.get().housing == world.housing["Brooder 2"]


def test_a_weight_without_its_unit_is_shown_in_the_farms_units_and_recorded_when_confirmed(
    world, ada, browns
):
    world.farm.units = "us"
    world.farm.save()
    page = words(write(ada, "weigh 14 (10 birds)"))
    assert "Is this right?" in page
    assert "weight: 14 oz, mean of 10 birds" in page
    assert not Observation.objects.exists()
    write(ada, "weigh 14 (10 birds)", sure="1")
    seen = Observation.objects.get()
    assert (round(seen.value, 1), seen.birds, seen.batch) == (396.9, 10, browns)


def test_sending_the_same_form_twice_records_it_once_and_says_so(world, ada, browns, monkeypatch):
    write(ada, "3 died")
    monkeypatch.setattr("farm.web.clock.now", lambda: world.by.now + timedelta(seconds=1))
    answer = ada.post(reverse("quick"), {"text": "3 died", "key": "k1", "back": "today"}, follow=True)
    assert "This was recorded already: Browns: 3 birds died." in words(answer)
    assert CountEntry.objects.filter(kind="died").count() == 1


def test_the_same_words_on_a_fresh_form_are_recorded_again(world, ada, browns):
    write(ada, "3 died")
    write(ada, "3 died", key="k2")
    assert heads.alive_on(browns, TODAY) == 34


@pytest.mark.parametrize(
    "text, message",
    [
        ("41 died", "That is 1 more than were alive"),
        ("0 died", "Enter a number from 1 to 5000."),
        ("3 died on 2027-01-01", "still to come"),
        ("3 died on 2020-01-01", "There are no such birds on the farm"),
        ("2 culled in Brooder 2", "No such birds are in Brooder 2"),
        ("99 °C", "Enter a number from -30 to 50."),
        ("moved 99 to Brooder 2", "Enter a number from 1 to 40"),
        ("blah", "was not understood"),
        ("", "This field is required."),
    ],
)
def test_what_cannot_be_recorded_is_said_with_the_sentence_kept(world, ada, browns, text, message):
    before = rows()
    answer = write(ada, text)
    assert answer.status_code == 200
    assert message in words(answer)
    assert answer.context["quick"]["text"].value() == text
    assert rows() == before


def test_what_it_understands_is_shown_beside_what_it_did_not(world, ada, browns):
    page = words(write(ada, "blah"))
    for example in grammar.examples(world.farm, False):
        assert f"<kbd>{example}</kbd>" in page


def test_a_helper_counts_and_a_child_only_says_what_it_sees(world, client, browns):
    client.force_login(world.add_member("Hal", "helper").login)
    write(client, "1 died")
    client.force_login(world.add_member("Kim", "child").login)
    page = words(write(client, "1 died", key="k2"))
    assert "Only a helper (does and records) may do this." in page
    write(client, "they huddle")
    assert heads.alive_on(browns, TODAY) == 39
    assert Observation.objects.get().member.name == "Kim"


def test_everything_recorded_is_in_the_history(world, ada, browns):
    write(ada, "3 died, cold night")
    entry = HistoryEntry.objects.filter(farm=world.farm).first()
    assert (entry.summary, entry.member, entry.face) == ("Browns: 3 birds died", world.keeper, "page")
    assert CountEntry.objects.latest("pk").note == "cold night"


def test_a_reading_of_yesterday_is_dated_to_its_noon(world, ada, browns):
    write(ada, "31 °C yesterday")
    assert Observation.objects.get().at.isoformat() == "2026-04-30T10:00:00+00:00"


def test_a_farm_without_birds_says_so(world, ada):
    assert "There are no such birds on the farm" in words(write(ada, "3 died"))


def test_nobody_signed_in_is_sent_to_sign_in(client, world):
    assert reverse("login") in write(client, "3 died").url


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(
    text=st.one_of(
        st.text(max_size=60),
        st.lists(
            st.sampled_from(
                ["3", "died", "moved", "to", "in", "Pen 1", "Brooder 1", "Browns", "all", "weigh", "°C"]
            ),
            max_size=7,
        ).map(" ".join),
    )
)
def test_any_text_is_answered_and_a_preview_never_writes(world, ada, browns, ducks, text):
    before = rows()
    answer = ada.post(reverse("quick"), {"text": text, "back": "today"})
    assert answer.status_code in (200, 302)
    if answer.status_code == 200:
        assert rows() == before


def test_the_page_opens_with_a_sentence_to_be_written_again(world, ada):
    page = words(ada.get(reverse("quick"), {"text": "3 died"}))
    assert 'value="3 died"' in page
