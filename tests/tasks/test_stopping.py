"""Processes told to stop finish what they have begun, and lose nothing of what they can not."""

import contextlib
import http.client
import signal
import socket
import sys
import threading
import time

import pytest

from farm.management.commands.start import processes
from tests.tasks.running import free_port, listens, wait_until

# The real server around an application that takes as long as its path says, and begins a file when it begins.
SLOW_PAGES = """
import sys, time, types, pathlib
import farm.wsgi
def application(environ, start):
    pathlib.Path(sys.argv[1]).touch()
    time.sleep(float(environ["PATH_INFO"].strip("/")))
    start("200 OK", [("Content-Length", "4")])
    return [b"done"]
farm.wsgi.application = application
from farm.management import serve
serve.main()
"""
SEND = """
import django, sys; django.setup()
from tests.tasks.slow_jobs import slow_trial
for _ in range(3): slow_trial.delay(seconds=float(sys.argv[1]), out=sys.argv[2])
"""


def ask(port, seconds, found):
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    link.request("GET", f"/{seconds}")
    reply = link.getresponse()
    found.append((reply.status, reply.read()))


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_web_process_told_to_stop_answers_what_it_was_asked_and_lets_nobody_new_in(
    machine, tmp_path, number
):
    port, begun, found = free_port(), tmp_path / "begun", []
    web = machine(
        [sys.executable, "-c", SLOW_PAGES, str(begun)],
        FEATHERDAYS_PORT=str(port),
        FEATHERDAYS_STOP_SECONDS="20",
    )
    wait_until(lambda: listens(port))
    idle = socket.create_connection(("127.0.0.1", port))  # a kept connection must not hold it up
    asking = threading.Thread(target=ask, args=(port, 1.5, found))
    asking.start()
    wait_until(begun.exists)
    told = time.monotonic()
    web.send_signal(number)
    time.sleep(0.4)
    assert not listens(port)
    assert web.wait(15) == 0
    took = time.monotonic() - told
    asking.join(5)
    idle.close()
    assert found == [(200, b"done")]
    assert 0.4 < took < 10


def test_what_takes_longer_than_it_may_does_not_hold_the_process(machine, tmp_path):
    port, begun = free_port(), tmp_path / "begun"
    web = machine(
        [sys.executable, "-c", SLOW_PAGES, str(begun)],
        FEATHERDAYS_PORT=str(port),
        FEATHERDAYS_STOP_SECONDS="1",
    )
    wait_until(lambda: listens(port))
    with contextlib.suppress(OSError):
        link = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        link.request("GET", "/60")
        wait_until(begun.exists)
        told = time.monotonic()
        web.terminate()
        assert web.wait(10) == 0
        assert time.monotonic() - told < 6
        link.close()


def waiting_in_files(data):
    return len(list((data / "broker" / "messages").glob("*.featherdays.msg")))


@pytest.mark.parametrize("kind", ["files", pytest.param("redis", marks=pytest.mark.redis)])
def test_what_a_worker_told_to_stop_can_finish_it_finishes_and_what_it_can_not_another_does(
    machine, tmp_path, kind, request
):
    broker, waiting = {}, waiting_in_files
    if kind == "redis":
        server = request.getfixturevalue("own_redis")
        broker, waiting = {"REDIS_URL": server.url}, lambda _data: server.client().llen("featherdays")
    out, data = tmp_path / "out", tmp_path / "data"
    machine.run(SEND, 4, out, **broker)
    command = [*processes()["worker"], "--include=tests.tasks.slow_jobs"]

    hasty = machine(command, **broker, FEATHERDAYS_STOP_SECONDS="1")
    wait_until(lambda: out.exists() and out.read_text().count("begun") == 2)
    hasty.terminate()
    assert hasty.wait(15) == 0
    assert (out.read_text().split(), waiting(data)) == (["begun", "begun"], 3)
    assert "job slow_trial was not finished in 1 s and waits again" in machine.log()

    out.write_text("")
    patient = machine(command, **broker, FEATHERDAYS_STOP_SECONDS="30")
    wait_until(lambda: out.read_text().count("begun") == 2)
    patient.terminate()
    assert patient.wait(30) == 0
    wrote = out.read_text().split()
    # It may have taken the third one just as it was told.
    assert wrote.count("begun") == wrote.count("done") >= 2
    assert wrote.count("done") + waiting(data) == 3
