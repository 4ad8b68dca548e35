"""Programmes of a farm: taken over as shipped, copied, edited version by version; batches keep the one they follow."""

import pytest

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import HistoryEntry, ProgrammeVersion, RearingProgramme
from farm.queries import programmes as read
from farm.services import history, programmes, trials
from farm.trade import load
from farm.trade.programme import OWN


@pytest.fixture
def own(world):
    return programmes.copy(world.by, source="chicken_layer_brown", name="Our browns")


def warmer(content, value=36.0):
    """Return the content with its first temperature changed."""
    first, *others = content["curves"]["temp_c"]
    changed = {**first, "value": value, "source": OWN}
    return {**content, "curves": {**content["curves"], "temp_c": [changed, *others]}}


def edit(world, own, content=None, number=1, note="warmer"):
    content = content or warmer(read.latest(own).content)
    return programmes.edit(world.by, programme_id=own.pk, content=content, note=note, expected_number=number)


def test_a_copy_says_what_the_original_says_under_its_own_name(world, own):
    copied = read.of_version(read.latest(own))
    original = load.programmes()["chicken_layer_brown"]
    assert (copied.name, own.edited, own.built_in) == ("Our browns", True, "chicken_layer_brown")
    assert (copied.curves, copied.rules, copied.feeds) == (original.curves, original.rules, original.feeds)


def test_a_copy_of_a_copy_starts_from_its_newest_version(world, own):
    edit(world, own)
    again = programmes.copy(world.by, source=str(own.pk), name="Warm browns")
    assert read.of_version(read.latest(again)).curves["temp_c"][0].value == 36.0
    assert read.latest(again).number == 1


@pytest.mark.parametrize(
    "name", ["", "  ", "Our browns", "Brown layer chicken", "brown LAYER chicken", "x" * 81]
)
def test_a_copy_needs_a_name_nothing_else_has(world, own, name):
    with pytest.raises(BadInput):
        programmes.copy(world.by, source="duck", name=name)
    assert RearingProgramme.objects.filter(edited=True).count() == 1


def test_what_does_not_exist_cannot_be_copied(world):
    with pytest.raises(BadInput):
        programmes.copy(world.by, source="dodo", name="Ours")
    with pytest.raises(NotFound):
        programmes.copy(world.by, source="999", name="Ours")
    with pytest.raises(BadInput):
        programmes.copy(world.by, source="²", name="Ours")


def test_another_farms_programme_cannot_be_copied_or_edited(world, elsewhere):
    far = programmes.copy(elsewhere.by, source="duck", name="Far ducks")
    with pytest.raises(NotFound):
        programmes.copy(world.by, source=str(far.pk), name="Ours")
    with pytest.raises(NotFound):
        edit(world, far)


def test_an_edit_is_a_new_version_and_the_old_one_stands(world, own):
    first = read.latest(own)
    version = edit(world, own)
    assert (version.number, version.note) == (2, "warmer")
    assert ProgrammeVersion.objects.get(pk=first.pk).content["curves"]["temp_c"][0]["value"] == 35.0
    assert read.of_version(version).curves["temp_c"][0].value == 36.0


def test_a_batch_keeps_the_version_it_follows_when_another_is_saved(world, own):
    batch = world.add_batch("Spring", programme=str(own.pk), housing="Brooder 1")
    edit(world, own)
    batch.refresh_from_db()
    assert batch.programme_version.number == 1


def test_saving_the_same_figures_again_makes_no_version_and_no_history(world, own):
    before = HistoryEntry.objects.count()
    version = edit(world, own, read.latest(own).content)
    assert version.number == 1
    assert HistoryEntry.objects.count() == before


def test_an_edit_from_an_older_version_is_refused_and_says_what_came_between(world, own):
    edit(world, own)
    with pytest.raises(Stale) as refused:
        edit(world, own, warmer(read.latest(own).content, 37.0), number=1)
    assert refused.value.changes == ["Our browns v2: warmer"]
    assert own.versions.count() == 2


def test_every_wrong_row_is_named_and_nothing_saved(world, own):
    content = warmer(read.latest(own).content, 99.0)
    content["feeds"] = [{**content["feeds"][0], "source": "somebody"}]
    with pytest.raises(BadInput) as refused:
        edit(world, own, content)
    assert set(refused.value.fields) == {"curves.temp_c[0].value", "feeds[0].source"}
    assert own.versions.count() == 1


def test_what_a_programme_is_for_cannot_be_edited(world, own):
    content = {**warmer(read.latest(own).content), "species": "duck", "type": "x", "key": "y", "name": "z"}
    saved = read.of_version(edit(world, own, content))
    assert (saved.species, saved.type, saved.key, saved.name) == (
        "chicken",
        "layer",
        "chicken_layer_brown",
        "Our browns",
    )


def test_a_built_in_programme_stays_as_it_is(world):
    world.add_batch("Spring", housing="Brooder 1")
    taken = RearingProgramme.objects.get(edited=False)
    with pytest.raises(BadInput, match="Copy this one"):
        edit(world, taken)


def test_a_built_in_programme_is_taken_over_once(world):
    world.add_batch("Spring", housing="Brooder 1")
    world.add_batch("Summer", housing="Brooder 2", birds=3)
    assert RearingProgramme.objects.filter(edited=False).count() == 1
    assert ProgrammeVersion.objects.count() == 1


def test_a_newer_release_of_the_tables_becomes_a_new_version(world):
    first = world.add_batch("Spring", housing="Brooder 1").programme_version
    ProgrammeVersion.objects.filter(pk=first.pk).update(digest="of an older release")
    second = world.add_batch("Summer", housing="Brooder 2", birds=3).programme_version
    assert (second.number, second.programme) == (2, first.programme)
    assert read.of_version(second) == load.programmes()["chicken_layer_brown"]


def test_a_built_in_name_that_a_farm_uses_already_is_told_apart(world, own):
    RearingProgramme.objects.filter(pk=own.pk).update(name="Duck")
    batch = world.add_batch("Ponds", programme="duck", housing="Brooder 1")
    name = load.programmes()["duck"].name
    expected = "Duck (built in)" if name == "Duck" else name
    assert batch.programme_version.programme.name == expected


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_copy_and_edit(world, own, role):
    other = world.add_member("Cleo", role)
    with pytest.raises(NotAllowed):
        programmes.copy(other, source="duck", name="Ours")
    with pytest.raises(NotAllowed):
        programmes.edit(other, programme_id=own.pk, content={}, note="", expected_number=1)


def test_a_copy_and_an_edit_can_be_undone_until_a_batch_follows(world, own):
    edit(world, own)
    history.undo(world.by, entry_id=HistoryEntry.objects.first().pk)
    assert own.versions.count() == 1
    world.add_batch("Spring", programme=str(own.pk), housing="Brooder 1")
    copied = HistoryEntry.objects.get(verb="copy programme")
    with pytest.raises(Stale):
        history.undo(world.by, entry_id=copied.pk)
    assert own.versions.count() == 1


def test_trying_an_edit_says_what_it_breaks_and_keeps_nothing(world, own):
    batch = world.add_batch("Spring", programme=str(own.pk), birds=40, housing="Brooder 2")
    content = read.latest(own).content
    wide = [{**row, "value": 1.0, "source": OWN} for row in content["curves"]["area_m2"][:1]]
    content = {**content, "curves": {**content["curves"], "area_m2": wide}}
    trial = trials.edit(
        world.by, programme_id=own.pk, content=content, expected_number=1, batch_ids=[batch.pk]
    )
    assert any("Brooder 2" in str(text) and "38.0 m²" in str(text) for text in trial.new)
    assert own.versions.count() == 1
    batch.refresh_from_db()
    assert batch.programme_version.number == 1


def test_trying_a_move_says_which_steps_change(world, own):
    batch = world.add_batch("Spring", housing="Brooder 1")
    edit(world, own, warmer_at(read.latest(own).content, 21, 28.0))
    choice = {name: value for value, name in read.versions_for(batch)}["Our browns v2"]
    trial = trials.move(world.by, batch_id=batch.pk, choice=choice, expected_version=None)
    before = {str(step.title) for step in trial.before.steps[batch.pk]}
    after = {str(step.title) for step in trial.after.steps[batch.pk]}
    assert any("26.7" in text or "27" in text for text in before - after)
    assert any("28" in text for text in after - before)


def warmer_at(content, day, value):
    rows = [
        {**row, "value": value, "source": OWN} if row["day"] == day else row
        for row in content["curves"]["temp_c"]
    ]
    return {**content, "curves": {**content["curves"], "temp_c": rows}}


def test_saving_and_moving_is_all_or_nothing(world, own):
    batch = world.add_batch("Spring", programme=str(own.pk), housing="Brooder 1")
    ducks = world.add_batch("Ponds", programme="duck", birds=2, housing="Brooder 2")
    with pytest.raises(BadInput):
        trials.edit_and_move(
            world.by,
            programme_id=own.pk,
            content=warmer(read.latest(own).content),
            note="",
            expected_number=1,
            batch_ids=[batch.pk, ducks.pk],
        )
    batch.refresh_from_db()
    assert (own.versions.count(), batch.programme_version.number) == (1, 1)


def test_a_batch_may_follow_any_version_of_its_species_but_the_one_it_follows(world, own):
    edit(world, own)
    batch = world.add_batch("Spring", programme=str(own.pk), birds=3, housing="Brooder 1")
    names = [name for _value, name in read.versions_for(batch)]
    assert "Our browns v1" in names
    assert "Our browns v2" not in names
    assert "Brown layer chicken v1" in names
    assert {"Duck", "Goose"}.isdisjoint(names)


def test_a_batch_can_be_put_on_a_built_in_programme_nobody_followed_yet(world, own):
    batch = world.add_batch("Spring", housing="Brooder 1")
    moved = trials.follow(world.by, batch_id=batch.pk, choice="chicken_meat", expected_version=None)
    assert (moved.programme_version.programme.built_in, moved.type) == ("chicken_meat", "meat")
    assert HistoryEntry.objects.first().verb == "change programme"


def test_the_list_counts_the_batches_that_follow(world, own):
    world.add_batch("Spring", programme=str(own.pk), birds=3, housing="Brooder 1")
    mine, built_in = read.overview(world.farm.pk)
    assert [(one.name, one.version, one.batches) for one in mine] == [("Our browns", 1, 1)]
    assert {one.key: one.batches for one in built_in}["chicken_layer_brown"] == 0
    assert len(built_in) == len(load.programmes())


def test_the_list_asks_four_times_however_many_programmes(world, own, django_assert_num_queries):
    world.add_batch("Spring", housing="Brooder 1")
    for number in range(4):
        programmes.copy(world.by, source="duck", name=f"Ducks {number}")
    with django_assert_num_queries(4):
        read.overview(world.farm.pk)


def test_a_programme_is_known_by_its_name_key_or_lone_species(world, own):
    words = read.by_words(world.farm.pk)
    assert words["our browns"] == str(own.pk)
    assert words["brown layer chicken"] == words["chicken_layer_brown"] == "chicken_layer_brown"
    assert words["duck"] == "duck"
    assert "chicken" not in words
