"""Moving a batch to another programme version: looked at first, then done, told when stale."""

import pytest

from farm.models import HistoryEntry
from farm.queries import programmes as read
from farm.services import batches, programmes
from farm.trade.programme import OWN
from tests.web.test_programmes_pages import browser, text  # noqa: F401  (the fixture)


@pytest.fixture
def spring(world):
    return world.add_batch("Spring", birds=40, housing="Brooder 2")


@pytest.fixture
def wide(world):
    """An own programme whose chicks ask for a square metre each."""
    own = programmes.copy(world.by, source="chicken_layer_brown", name="Roomy")
    content = read.latest(own).content
    content["curves"]["area_m2"] = [{"day": 0, "value": 1.0, "source": OWN}]
    return programmes.edit(world.by, programme_id=own.pk, content=content, note="", expected_number=1)


def post(browser, batch, to, *, save=False, seen="", version=None):  # noqa: F811
    sent = {"to": to, "seen": seen, "version": batch.version if version is None else version}
    return browser.post(f"/settings/programmes/batch/{batch.pk}/", sent | {"save" if save else "look": "1"})


def test_looking_says_what_would_not_fit_and_moves_nothing(browser, spring, wide):  # noqa: F811
    page = text(post(browser, spring, f"v{wide.pk}"))
    assert "This would not fit any more" in page
    assert "Move it" in page
    spring.refresh_from_db()
    assert spring.programme_version.programme.name == "Brown layer chicken"


def test_what_was_looked_at_is_moved_and_listed_in_the_history(browser, spring, wide):  # noqa: F811
    answer = post(browser, spring, f"v{wide.pk}", save=True, seen=f"v{wide.pk}")
    assert answer["Location"] == f"/batches/{spring.pk}/"
    spring.refresh_from_db()
    assert spring.programme_version == wide
    assert HistoryEntry.objects.first().summary == "Batch Spring now follows Roomy v2"


def test_another_version_than_the_one_looked_at_is_looked_at_again(browser, spring, wide):  # noqa: F811
    answer = post(browser, spring, f"v{wide.pk}", save=True, seen="chicken_meat")
    assert "Move it" in text(answer)
    spring.refresh_from_db()
    assert spring.programme_version != wide


def test_a_batch_changed_meanwhile_is_told_and_can_be_moved_on_a_second_try(browser, spring, wide, world):  # noqa: F811
    batches.change(world.by, batch_id=spring.pk, expected_version=None, breed="Ayam")
    answer = post(browser, spring, f"v{wide.pk}", save=True, seen=f"v{wide.pk}")
    assert "Somebody changed this while you had it open" in text(answer)
    again = int(answer.context["form"]["version"].value())
    assert (
        post(browser, spring, f"v{wide.pk}", save=True, seen=f"v{wide.pk}", version=again).status_code == 302
    )


@pytest.mark.parametrize("to", ["", "v999999", "duck", "v", "vx", "²", "chicken_layer_brown"])
def test_what_the_batch_cannot_follow_is_refused_at_the_field(browser, spring, to):  # noqa: F811
    answer = post(browser, spring, to, save=True, seen=to)
    assert answer.status_code == 200
    assert "to" in answer.context["form"].errors
    spring.refresh_from_db()
    assert spring.version == 1


def test_another_farms_version_cannot_be_followed(browser, spring, elsewhere):  # noqa: F811
    far = programmes.copy(elsewhere.by, source="chicken_meat", name="Far")
    answer = post(browser, spring, f"v{read.latest(far).pk}", save=True, seen=f"v{read.latest(far).pk}")
    assert "to" in answer.context["form"].errors


def test_another_farms_batch_is_not_found(browser, world, elsewhere):  # noqa: F811
    elsewhere.add_housing("Far brooder")
    far = elsewhere.add_batch("Far chicks", housing="Far brooder")
    assert browser.get(f"/settings/programmes/batch/{far.pk}/").status_code == 404
    assert post(browser, far, "chicken_meat", save=True, seen="chicken_meat").status_code == 404


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_move_a_batch_to_another_version(browser, spring, wide, world, role):  # noqa: F811
    browser.force_login(world.add_member("Cleo", role).login)
    assert browser.get(f"/settings/programmes/batch/{spring.pk}/").status_code == 403
    assert post(browser, spring, f"v{wide.pk}", save=True, seen=f"v{wide.pk}").status_code == 403
