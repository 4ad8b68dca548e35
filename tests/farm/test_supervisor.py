"""The supervisor against real processes: it starts again what dies, gives up in time, and leaves nobody behind."""

import os
import sys
import time
from pathlib import Path

import pytest

from farm.management import ground, supervisor
from farm.management.supervisor import Supervisor

SLEEP = [sys.executable, "-c", "import time; time.sleep(60)"]
DEAF = "import signal, time, sys; signal.signal(signal.SIGTERM, signal.SIG_IGN); open(sys.argv[1], 'w'); time.sleep(60)"
FAIL = [sys.executable, "-c", "raise SystemExit(3)"]


def test_a_process_that_keeps_dying_stops_all_with_exit_code_1(monkeypatch):
    monkeypatch.setattr(supervisor, "LONGEST_PAUSE_SECONDS", 0.1)
    said = []
    both = Supervisor({"good": SLEEP, "bad": FAIL}, os.environ, said.append)
    assert both.run() == 1
    assert said == [
        *["The bad process ended (3); again in 0.1 s."] * 4,
        "The bad process ended 5 times in a minute: stopping all.",
    ]
    assert [child.process.poll() is not None for child in both.children] == [True, True]


def test_a_process_deaf_to_the_polite_signal_is_killed_within_five_seconds(tmp_path):
    heard = tmp_path / "heard"
    one = Supervisor({"deaf": [sys.executable, "-c", DEAF, str(heard)]}, os.environ, print)

    def stop_once_deaf():
        if heard.exists():
            one.stopping.set()

    assert one.run(tick=stop_once_deaf) == 0
    started = time.monotonic()
    one.stop()
    assert time.monotonic() - started < 0.1
    assert one.children[0].process.returncode == -9


def test_the_children_get_the_environment_they_are_given(tmp_path):
    out = tmp_path / "out"
    write = "import os, sys, time; open(sys.argv[1], 'w').write(os.environ['BIRDS']); time.sleep(60)"
    one = Supervisor({"one": [sys.executable, "-c", write, str(out)]}, os.environ | {"BIRDS": "40"}, print)
    one.run(tick=lambda: one.stopping.set() if out.exists() and out.read_text() else None)
    assert out.read_text() == "40"


def test_one_data_folder_has_one_start_at_a_time(tmp_path):
    with (
        ground.alone(tmp_path),
        pytest.raises(ground.CommandError, match=rf"process {os.getpid()}\)"),
        ground.alone(tmp_path),
    ):
        pass
    with ground.alone(tmp_path):
        assert (tmp_path / "running").read_text() == str(os.getpid())


def test_an_address_of_no_machine_here_names_the_setting():
    with pytest.raises(
        ground.CommandError, match=r"192\.0\.2\.1 is not an address of this machine.*FEATHERDAYS_BIND"
    ):
        ground.port_is_free("192.0.2.1", 8000)


def test_static_files_are_collected_again_only_when_a_source_is_newer(settings, tmp_path):
    settings.STATIC_ROOT = tmp_path
    assert ground.static_files_are_stale() is True
    manifest = Path(tmp_path / "staticfiles.json")
    manifest.write_text("{}")
    assert ground.static_files_are_stale() is False
    os.utime(manifest, (0, 0))
    assert ground.static_files_are_stale() is True
