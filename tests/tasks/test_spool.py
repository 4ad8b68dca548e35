"""The in-machine broker: every message once, whole, in order, and the worker's folders made by itself."""

import itertools
import json
import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from kombu import Connection, Exchange, Queue
from kombu.exceptions import OperationalError

from farm.settings.broker import in_machine

QUEUE = Queue("trial", Exchange("trial"), routing_key="trial")


def connect(folder):
    made = in_machine(folder)
    return Connection(made["url"], transport_options=made["options"])


def put(folder, *bodies):
    with connect(folder) as link, link.Producer(exchange=QUEUE.exchange, routing_key="trial") as producer:
        for body in bodies:
            producer.publish(body, declare=[QUEUE])


def take(folder, most=1000):
    bodies = []
    with connect(folder) as link:
        bound = QUEUE(link.default_channel)
        while len(bodies) < most and (message := bound.get()):
            message.ack()
            bodies.append(message.payload)
    return bodies


def test_messages_come_out_once_and_in_the_order_they_went_in(tmp_path):
    put(tmp_path, *range(20))
    assert (take(tmp_path), take(tmp_path)) == (list(range(20)), [])


def test_a_message_outlives_the_process_that_wrote_it_and_leaves_no_file_behind(tmp_path):
    put(tmp_path, {"farm_id": 7})
    assert len(list((tmp_path / "messages").iterdir())) == 1
    assert take(tmp_path) == [{"farm_id": 7}]
    assert [*(tmp_path / "messages").iterdir(), *(tmp_path / "taken").iterdir()] == []


def test_a_half_written_draft_is_never_taken_for_a_message(tmp_path):
    put(tmp_path, 1)
    (tmp_path / "messages" / ".half.draft").write_text('{"body": ')
    assert take(tmp_path) == [1]


def test_a_message_of_another_queue_is_left_alone(tmp_path):
    put(tmp_path, 1)
    [path] = (tmp_path / "messages").glob("*.msg")
    path.rename(path.with_name(path.name.replace(".trial.", ".other.trial2.")))
    assert take(tmp_path) == []


def test_writers_and_readers_at_once_lose_and_double_nothing(tmp_path):
    put(tmp_path)
    writers = [list(range(start, start + 25)) for start in (0, 100, 200, 300)]
    done = threading.Event()

    def drain(_):
        found = []
        while not done.is_set() or any((tmp_path / "messages").glob("*.msg")):
            found += take(tmp_path)
        return found

    with ThreadPoolExecutor(7) as pool:
        readers = [pool.submit(drain, number) for number in range(3)]
        try:
            list(pool.map(lambda bodies: put(tmp_path, *bodies), writers))
        finally:
            done.set()
        taken = [body for reader in readers for body in reader.result()]
    assert sorted(taken) == sorted(itertools.chain(*writers))


def test_processes_that_bind_at_once_leave_one_whole_table(tmp_path):
    with ThreadPoolExecutor(8) as pool:
        list(pool.map(lambda number: put(tmp_path, number), range(16)))
    [table] = (tmp_path / "exchanges").glob("trial.exchange")
    assert json.loads(table.read_text()) == [["trial", "", "trial"]]
    assert sorted(take(tmp_path)) == list(range(16))


def test_a_folder_that_can_not_be_made_is_an_error_that_names_it(tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(OperationalError, match=r"Cannot make the broker folder .*/file/broker/messages"):
        put(tmp_path / "file" / "broker", 1)
