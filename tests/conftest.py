"""The small named world that most tests stand in: one farm, one keeper, two brooders, a pen, one batch."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import settings

from farm.models import Batch, Farm, Housing, Login, Member
from farm.models.history import Face
from farm.services import batches, farms, housings, members
from farm.services.actor import Actor, local_day
from tests import reports
from tests.replaying import Replay

# Slow machines are no failing property.
settings.register_profile("project", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("project")
#: How many examples a property is tried on at most where time is short; 0 for as many as each test asks for.
MOST_EXAMPLES = int(os.environ.get("FEATHERDAYS_TEST_EXAMPLES") or 0)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--database-only", action="store_true", help="leave out tests that reach no database")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On a second database only what reaches one is run again; where time is short properties get fewer examples."""
    for item in items if MOST_EXAMPLES else ():
        _try_less(getattr(item, "obj", None))
    if not config.getoption("--database-only"):
        return
    reach = {"db", "transactional_db", "live_server", "django_db_setup"}
    kept = [item for item in items if reach & set(getattr(item, "fixturenames", ()))]
    config.hook.pytest_deselected(items=[item for item in items if item not in set(kept)])
    items[:] = kept


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Say at the end what faults did and how generated requests were answered."""
    reports.faults(terminalreporter)
    reports.requests(terminalreporter)


def _try_less(test: Any) -> None:
    if not getattr(test, "is_hypothesis_test", False):
        return
    asked = getattr(test, "_hypothesis_internal_use_settings", None) or settings.default
    fewer = settings(asked, max_examples=min(asked.max_examples, MOST_EXAMPLES))
    getattr(test, "__func__", test)._hypothesis_internal_use_settings = fewer


NOON = datetime(2026, 5, 1, 10, 0, tzinfo=UTC)  # 1 May, noon in Berlin
TODAY = date(2026, 5, 1)


@dataclass
class World:
    """A farm with what tests need of it; days are counted from TODAY."""

    farm: Farm
    keeper: Member
    by: Actor
    housing: dict[str, Housing] = field(default_factory=dict)

    def add_housing(self, name: str, **fields: Any) -> Housing:
        fields = {"kind": "brooder", "area_m2": 4.0, "heated": True} | fields
        self.housing[name] = housings.add(self.by, name=name, **fields)
        return self.housing[name]

    def add_batch(
        self, name: str, *, birds: int = 40, age: int = 14, housing: str | None = None, **fields: Any
    ) -> Batch:
        fields = {"programme": "chicken_layer_brown", "hatch_day": TODAY - timedelta(days=age)} | fields
        place = self.housing[housing].pk if housing else None
        new = batches.NewBatch(name=name, birds=birds, housing_id=place, **fields)
        return batches.start(self.by, new=new)

    def add_member(self, name: str, role: str, *, login: bool = True) -> Actor:
        """Return the actor of a new member of `role`."""
        member = members.add(self.by, name=name, role=role)
        if login:
            member.login = Login.objects.create_user(f"{name.lower()}.{self.farm.pk}@example.org", "pw")
            member.save()
        return actor(self.farm, member)


def actor(farm: Farm, member: Member, now: datetime = NOON) -> Actor:
    return Actor(
        farm_id=farm.pk,
        face=Face.PAGE,
        now=now,
        today=local_day(farm, now),
        member=member,
        login=member.login,
    )


def make_world(email: str = "ada@example.org", name: str = "Hollow Farm") -> World:
    login = Login.objects.create_user(email, "correct horse battery")
    farm, keeper = farms.start(
        login=login, keeper="Ada", name=name, time_zone="Europe/Berlin", now=NOON, face=Face.PAGE
    )
    return World(farm=farm, keeper=keeper, by=actor(farm, keeper))


def make_hollow_farm() -> World:
    """Make the world that most tests stand in."""
    found = make_world()
    found.add_housing("Brooder 1")
    found.add_housing("Brooder 2", area_m2=2.0)
    found.add_housing("Pen 1", kind="pen", area_m2=12.0, heated=False)
    return found


def _keys(made: World) -> tuple[int, list[int]]:
    return made.keeper.pk, [housing.pk for housing in made.housing.values()]


def _found(keys: tuple[int, list[int]]) -> World:
    keeper = Member.objects.select_related("farm", "login").get(pk=keys[0])
    rows = Housing.objects.in_bulk(keys[1])
    return World(
        farm=keeper.farm,
        keeper=keeper,
        by=actor(keeper.farm, keeper),
        housing={rows[key].name: rows[key] for key in keys[1]},
    )


_hollow_farm = Replay(make_hollow_farm, _keys, _found)


@pytest.fixture
def world(db: None) -> World:
    """Hollow Farm with Brooder 1 (4 m², heated), Brooder 2 (2 m², heated) and Pen 1 (12 m², no heat); no birds yet."""
    return _hollow_farm()


@pytest.fixture
def elsewhere(db: None) -> World:
    """Another household's farm, which nobody of Hollow Farm may see."""
    return make_world("bea@example.org", "Far Farm")
