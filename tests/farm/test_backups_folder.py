"""Which backups are kept, and when the next is due."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from farm.services import backups
from farm.services.backups import Keeping
from farm.services.backups.folder import name_for

NOON = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)  # a Friday


@pytest.fixture
def made(tmp_path: Path):
    """Return a function that puts empty files where backups of so many days ago would be."""

    def make(*days: float) -> None:
        for each in days:
            (tmp_path / name_for(NOON - timedelta(days=each))).touch()

    return make


def days_left(folder: Path) -> list[float]:
    return [one.age(NOON) / timedelta(days=1) for one in backups.found(folder)]


def test_they_are_found_newest_first_and_other_files_are_not_looked_at(tmp_path: Path, made):
    made(2, 0, 1)
    for name in ("featherdays-old.zip", "notes.txt", "featherdays-20260501T120000Z.zip.part", ".lock"):
        (tmp_path / name).touch()

    assert days_left(tmp_path) == [0, 1, 2]
    assert backups.rotate(tmp_path, Keeping(0, 0, 0)) != []
    assert (tmp_path / "featherdays-old.zip").exists()


def test_the_last_of_each_day_is_kept(tmp_path: Path, made):
    made(0, 0.1, 0.2, 1, 1.2, 2)
    backups.rotate(tmp_path, Keeping(daily=2, weekly=0, monthly=0))
    assert days_left(tmp_path) == [0, 1]


def test_the_last_of_each_week_is_kept_too(tmp_path: Path, made):
    made(*range(30))
    backups.rotate(tmp_path, Keeping(daily=2, weekly=3, monthly=0))
    # Friday, Thursday, and the two Sundays before.
    assert days_left(tmp_path) == [0, 1, 5, 12]


def test_the_last_of_each_month_is_kept_too(tmp_path: Path, made):
    made(*range(100))
    backups.rotate(tmp_path, Keeping(daily=0, weekly=0, monthly=3))
    assert days_left(tmp_path) == [0, 1, 31]


def test_days_without_a_backup_do_not_count(tmp_path: Path, made):
    made(0, 40, 80)
    backups.rotate(tmp_path, Keeping(daily=3, weekly=0, monthly=0))
    assert days_left(tmp_path) == [0, 40, 80]


def test_the_newest_always_stays(tmp_path: Path, made):
    made(300, 301)
    gone = backups.rotate(tmp_path, Keeping(daily=0, weekly=0, monthly=0))
    assert (days_left(tmp_path), len(gone)) == ([300], 1)


@pytest.mark.parametrize("hours, due", [(1, False), (22, False), (23, True), (200, True), (-1, True)])
def test_one_is_due_when_the_last_is_a_day_old_or_from_a_clock_that_was_ahead(
    tmp_path: Path, made, settings, hours: float, due: bool, transactional_db: None
):
    settings.BACKUPS = str(tmp_path)
    made(hours / 24)

    assert (backups.make_if_due(now=NOON) is not None) is due
    assert len(backups.found(tmp_path)) == 1 + due or hours < 0


def test_none_is_made_where_they_are_switched_off(settings):
    settings.BACKUPS = ""
    assert backups.make_if_due(now=NOON) is None
    assert backups.last_made() is None
