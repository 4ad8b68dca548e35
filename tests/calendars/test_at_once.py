"""Many apps at once, on a calendar nobody has built yet: one is built, all get the same."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections

from calendars.models import CalendarBody, EntryVersion
from farm.services import batches
from tests.calendars.conftest import App, subscribe
from tests.conftest import NOON, make_world


@pytest.fixture
def app(transactional_db) -> App:
    world = make_world()
    housing = world.add_housing("Brooder 1")
    batches.start(
        world.by,
        new=batches.NewBatch(
            name="Spring",
            birds=20,
            housing_id=housing.pk,
            programme="chicken_layer_brown",
            hatch_day=NOON.date(),
        ),
    )
    return subscribe(world.by)


def ask(app: App):
    from calendars import editions, queries, services

    try:
        link = queries.find(app.secret)
        body = services.build(editions.of(link), NOON)
        return body.etag, body.built_at
    finally:
        connections.close_all()


def test_eight_at_once_get_one_body_and_leave_one_set_of_versions(app):
    with ThreadPoolExecutor(8) as pool:
        answers = set(pool.map(ask, [app] * 8))
    assert len(answers) == 1
    body = CalendarBody.objects.get()
    assert EntryVersion.objects.count() == bytes(body.octets).count(b"BEGIN:VEVENT\r\n")
