"""The jobs of leaving for good and of backing up: one for each farm and login that is due, harmless when twice."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine

from farm.models import Farm, Login
from farm.services import backups
from farm.services.farewell import farms, logins
from tasks import backups as backup_jobs
from tasks import farewells
from tests.conftest import NOON, World


def test_every_farm_and_login_whose_time_has_come_gets_a_job(world: World, elsewhere: World, sent):
    farms.close(world.by, name="Hollow Farm")
    logins.give_up(world.by.login, password="correct horse battery", now=NOON)
    with time_machine.travel(NOON + timedelta(days=31)):
        assert farewells.say_farewells() == 2

    names = [job for job in sent() if job[0].startswith("remove_")]
    assert names == [
        ("remove_farm", {"farm_id": world.farm.pk}),
        ("remove_login", {"login_id": world.by.login.pk}),
    ]


def test_the_jobs_remove_and_may_come_again(world: World, elsewhere: World, sent):
    farms.close(world.by, name="Hollow Farm")
    logins.give_up(world.by.login, password="correct horse battery", now=NOON)
    with time_machine.travel(NOON + timedelta(days=31)):
        for _twice in range(2):
            farewells.remove_farm(farm_id=world.farm.pk)
            farewells.remove_login(login_id=world.by.login.pk)

    assert list(Farm.objects.all()) == [elsewhere.farm]
    assert list(Login.objects.all()) == [elsewhere.by.login]


def test_jobs_that_come_too_early_remove_nothing(world: World, sent):
    farms.close(world.by, name="Hollow Farm")
    with time_machine.travel(NOON + timedelta(days=29)):
        farewells.remove_farm(farm_id=world.farm.pk)

    assert Farm.objects.filter(pk=world.farm.pk).exists()


@pytest.mark.django_db(transaction=True)
def test_the_backup_job_makes_one_a_day(settings, tmp_path):
    settings.BACKUPS = str(tmp_path)
    for hours in (0, 1, 22, 24):
        with time_machine.travel(NOON + timedelta(hours=hours)):
            backup_jobs.back_up()

    assert [one.made_at for one in backups.found(tmp_path)] == [NOON + timedelta(hours=24), NOON]
