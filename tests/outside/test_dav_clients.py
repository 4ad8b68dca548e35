"""Our task lists used by other people's task apps, over HTTP, against the server that families run (waitress).

Standards: RFC 4791 (CalDAV), 6578 (sync-collection), 5397 (current principal), 6764 (well-known address).
Apps, each with code of its own:
- `caldav` (Python CalDAV client; Apache-2.0 or GPL, used under Apache-2.0), in this process,
- `vdirsyncer` (BSD), a program that keeps a folder and a server the same,
- `todoman` (ISC), a program that ticks to-dos in such a folder.
"""

from __future__ import annotations

import importlib.util
import json
import os
import re
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import waitress
from django.core.wsgi import get_wsgi_application

from farm.models import ChoreMark
from farm.models.history import Face, HistoryEntry
from farm.services import chores
from farm.services.actor import local_day
from tests.calendars.dav_world import TaskApp, an_app, opened
from tests.conftest import actor, make_world

pytestmark = pytest.mark.django_db(transaction=True)


def needs(*modules):
    absent = [name for name in modules if importlib.util.find_spec(name) is None]
    return pytest.mark.skipif(bool(absent), reason=f"not tested: {', '.join(absent)} is not installed")


@pytest.fixture
def server():
    """The address of a server over the test's own database."""
    made = waitress.create_server(get_wsgi_application(), host="127.0.0.1", port=0, threads=4)
    over = threading.Event()

    def run():
        while not over.is_set():
            made.asyncore.loop(timeout=0.05, map=made._map, count=1)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{made.effective_port}"
    over.set()
    thread.join(5)
    made.task_dispatcher.shutdown()
    made.close()


@pytest.fixture
def world():
    """Hollow Farm on the day this runs: other programs read the clock themselves."""
    found = make_world()
    found.by = actor(found.farm, found.keeper, datetime.now(UTC))
    found.add_housing("Brooder 1")
    hatched = local_day(found.farm, found.by.now) - timedelta(days=14)
    found.add_batch("Spring", housing="Brooder 1", hatch_day=hatched)
    return found


@pytest.fixture
def app(world) -> TaskApp:
    return an_app(world.by)


def look(world):
    return f"room:{world.housing['Brooder 1'].pk}/look", world.by.today, "morning"


def mark_of(world):
    source, due, round = look(world)
    return ChoreMark.objects.filter(source=source, due=due, round=round).first()


@needs("caldav")
def test_caldav_finds_the_list_ticks_a_chore_and_today_shows_it_done_by_that_member(
    server, world, app, client
):
    import caldav

    signed = caldav.DAVClient(f"{server}/dav/", username=app.user, password=app.secret)
    (found,) = signed.principal().calendars()
    assert str(found.url).endswith(app.list)
    assert found.get_display_name() == "Hollow Farm: Ada"
    assert found.get_supported_components() == ["VTODO"]
    todo = found.todo_by_uid(str(app_todo(app, world)["UID"]))
    todo.complete()
    mark = mark_of(world)
    assert (mark.state, mark.member, HistoryEntry.objects.latest("pk").face) == (
        "done",
        world.keeper,
        Face.CALENDAR,
    )
    client.force_login(world.by.login)
    page = client.get("/").content.decode()
    assert re.search(r"state done.*?done, Ada, ", page, re.S)
    assert todo.url not in {each.url for each in found.todos()}
    again = found.todo_by_uid(str(todo.icalendar_component["UID"]))
    again.uncomplete()
    assert mark_of(world) is None


def app_todo(app: TaskApp, world):
    app.at = datetime.now(UTC)
    return app.todo(look(world))


@needs("caldav")
def test_caldav_lists_searches_and_syncs(server, world, app):
    import caldav

    (found,) = (
        caldav.DAVClient(f"{server}/dav/", username=app.user, password=app.secret).principal().calendars()
    )
    all_of_it = found.objects(load_objects=True)
    assert len(list(all_of_it)) > 30
    assert len(found.todos()) == len(list(all_of_it))
    today = datetime.combine(world.by.today, datetime.min.time(), tzinfo=UTC)
    of_today = found.search(todo=True, start=today, end=today + timedelta(days=1), include_completed=True)
    assert 0 < len(of_today) < len(found.todos())
    source, due, round = look(world)
    chores.mark(world.by, source=source, due=due, round=round, title="Look")
    changed, gone = all_of_it.sync()
    assert ([str(each.url).rpartition("/")[2] for each in changed], list(gone)) == (
        [app.path(look(world)).rpartition("/")[2]],
        [],
    )
    assert not all_of_it.sync()[0]


@needs("caldav")
def test_caldav_is_refused_all_else(server, world, app):
    import caldav
    from caldav.lib.error import DAVError

    signed = caldav.DAVClient(f"{server}/dav/", username=app.user, password=app.secret)
    principal = signed.principal()
    (found,) = principal.calendars()
    todo = found.todos()[0]
    with pytest.raises(DAVError):
        todo.delete()
    with pytest.raises(DAVError):
        found.save_todo(todo.data.replace("UID:todo", "UID:other"))
    with pytest.raises(DAVError):
        principal.make_calendar(name="Mine")
    with pytest.raises(DAVError):
        found.delete()
    todo.icalendar_component["SUMMARY"] = "Another"
    with pytest.raises(DAVError):
        todo.save()
    with pytest.raises(DAVError):
        caldav.DAVClient(f"{server}/dav/", username=app.user, password="wrong").principal()


def run(folder: Path, *command: str, good: bool = True) -> str:
    places = {name: str(folder / name) for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME")}
    environment = {
        "PATH": os.environ["PATH"],
        "HOME": str(folder),
        "LANG": "C.UTF-8",
        "TZ": "Europe/Berlin",
        **places,
    }
    done = subprocess.run(
        [sys.executable, *command],
        env=environment,
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=120,
        input="y\n" * 9,
    )
    assert (done.returncode == 0) == good, done.stdout + done.stderr
    return done.stdout + done.stderr


VDIRSYNCER = ("-c", "from vdirsyncer.cli import app; app()")
TODOMAN = ("-c", "from todoman.cli import cli; cli()")


@pytest.fixture
def folder(tmp_path, server, app) -> Path:
    """A folder that vdirsyncer keeps like the list, and todoman reads."""
    (tmp_path / "vdirsyncer.conf").write_text(
        f"""
[general]
status_path = "{tmp_path}/status/"
[pair tasks]
a = "here"
b = "there"
collections = ["from b"]
conflict_resolution = "b wins"
[storage here]
type = "filesystem"
path = "{tmp_path}/tasks/"
fileext = ".ics"
[storage there]
type = "caldav"
url = "{server}/"
username = "{app.user}"
password = "{app.secret}"
item_types = ["VTODO"]
"""
    )
    (tmp_path / "tasks.conf.py").write_text(
        f'path = "{tmp_path}/tasks/*"\ndate_format = "%Y-%m-%d"\ntime_format = "%H:%M"\n'
    )
    (tmp_path / "tasks").mkdir()
    run(tmp_path, *VDIRSYNCER, "-c", "vdirsyncer.conf", "discover")
    run(tmp_path, *VDIRSYNCER, "-c", "vdirsyncer.conf", "sync")
    return tmp_path


def synced(folder: Path, *, good: bool = True) -> str:
    return run(folder, *VDIRSYNCER, "-c", "vdirsyncer.conf", "sync", good=good)


def file_of(folder: Path, app: TaskApp, world) -> Path:
    uid = f"UID:{app.todo(look(world))['UID']}"
    (found,) = (one for one in folder.glob("tasks/*/*.ics") if uid in one.read_text().replace("\n ", ""))
    return found


@needs("vdirsyncer")
def test_vdirsyncer_brings_the_whole_list_and_what_changes(folder, app, world):
    app.at = datetime.now(UTC)
    assert len(list(folder.glob("tasks/*/*.ics"))) == len(app.query())
    kept = file_of(folder, app, world).read_text().splitlines()
    assert kept == app.get(look(world)).content.decode().splitlines()
    source, due, round = look(world)
    chores.mark(world.by, source=source, due=due, round=round, title="Look")
    synced(folder)
    assert "STATUS:COMPLETED" in file_of(folder, app, world).read_text()
    before = synced(folder)
    assert "error" not in before.lower()


@needs("vdirsyncer")
def test_vdirsyncer_is_told_that_other_edits_are_refused_and_the_list_stands(folder, app, world):
    app.at = datetime.now(UTC)
    file, before = file_of(folder, app, world), app.get(look(world)).content
    file.write_text(file.read_text().replace("SUMMARY:", "SUMMARY:Not "))
    assert "403" in synced(folder, good=False)
    assert app.get(look(world)).content == before


@needs("vdirsyncer", "todoman")
def test_todoman_ticks_and_vdirsyncer_carries_it_over(folder, app, world):
    app.at = datetime.now(UTC)
    listed = run(folder, *TODOMAN, "--config", str(folder / "tasks.conf.py"), "--porcelain", "list")
    title, due = str(app.todo(look(world))["SUMMARY"]), app.todo(look(world))["DUE"].dt.timestamp()
    (number,) = [one["id"] for one in json.loads(listed) if (one["summary"], one["due"]) == (title, due)]
    run(folder, *TODOMAN, "--config", str(folder / "tasks.conf.py"), "done", str(number))
    synced(folder)
    mark = mark_of(world)
    assert (mark.state, mark.member) == ("done", world.keeper)
    synced(folder)
    assert "STATUS:COMPLETED" in file_of(folder, app, world).read_text()
    file = file_of(folder, app, world)  # todoman has no word for opening one again
    file.write_text(opened(file.read_text().replace("\n", "\r\n")))
    synced(folder)
    assert mark_of(world) is None
