"""A form opened before somebody else's change does not overwrite it: the keeper is told what changed."""

import pytest

from farm.errors import Stale
from farm.models import Batch
from farm.services import actor, batches, housings, stale


@pytest.fixture
def browns(world):
    return world.add_batch("Browns", housing="Brooder 1")


def rename(world, batch, name, version=None):
    return batches.change(world.by, batch_id=batch.pk, expected_version=version, name=name)


def test_a_form_at_the_records_own_version_is_taken(world, browns):
    assert stale.check(browns, browns.version) is None
    assert rename(world, browns, "Reds", version=1).name == "Reds"


def test_a_writer_who_saw_no_form_is_never_stale(world, browns):
    rename(world, browns, "Reds")
    assert stale.check(Batch.objects.get(pk=browns.pk), None) is None


def test_an_older_form_is_refused_with_every_change_since_in_order(world, browns):
    rename(world, browns, "Reds")
    helper = world.add_member("Bo", "keeper")
    batches.change(helper, batch_id=browns.pk, expected_version=2, notes="calm birds", name="Rusts")
    with pytest.raises(Stale) as refused:
        rename(world, browns, "Mine", version=1)
    assert refused.value.changes == ["Ada: Batch Reds changed", "Bo: Batch Rusts changed"]
    assert Batch.objects.get(pk=browns.pk).name == "Rusts"


def test_only_what_came_after_the_form_is_told(world, browns):
    rename(world, browns, "Reds")
    rename(world, browns, "Rusts")
    with pytest.raises(Stale) as refused:
        rename(world, browns, "Mine", version=2)
    assert refused.value.changes == ["Ada: Batch Rusts changed"]


def test_the_refusal_carries_the_version_to_save_at_next(world, browns):
    rename(world, browns, "Reds")
    with pytest.raises(Stale) as refused:
        rename(world, browns, "Mine", version=1)
    assert refused.value.version == 2
    assert rename(world, browns, "Mine", version=refused.value.version).name == "Mine"


def test_a_change_to_another_record_makes_nothing_stale(world, browns):
    other = world.add_batch("Whites")
    rename(world, other, "Creams")
    assert rename(world, browns, "Reds", version=1).version == 2


def test_a_save_that_changes_nothing_leaves_others_forms_good(world, browns):
    rename(world, browns, "Browns")
    assert rename(world, browns, "Reds", version=1).name == "Reds"


def test_a_change_by_the_system_is_named_after_the_program(world, browns):
    by = actor.system(world.farm, face="job", now=world.by.now)
    housing = world.housing["Brooder 1"]
    housings.change(by, housing_id=housing.pk, expected_version=None, area_m2=5.0)
    with pytest.raises(Stale) as refused:
        housings.change(world.by, housing_id=housing.pk, expected_version=1, area_m2=6.0)
    assert [line.split(":")[0] for line in refused.value.changes] == ["Featherdays"]


def test_another_farms_history_is_never_told(world, elsewhere, browns):
    strange = elsewhere.add_batch("Strange")
    batches.change(elsewhere.by, batch_id=strange.pk, expected_version=None, name="Stranger")
    rename(world, browns, "Reds")
    with pytest.raises(Stale) as refused:
        rename(world, browns, "Mine", version=1)
    assert refused.value.changes == ["Ada: Batch Reds changed"]
