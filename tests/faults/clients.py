"""Phones that tick under load: each sends one tick after another until it is acknowledged, and notes the answers."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode

#: Between two ticks of one phone: fewer than its link may send in a minute. Seconds.
PACE = 0.21


@dataclass(frozen=True)
class Answer:
    """What a request came back with. status: 0 when nothing came back. seconds: how long that took."""

    status: int
    body: str
    seconds: float
    headers: Mapping[str, str] = field(default_factory=dict)


def ask(port: int, path: str, body: Any = None, *, form: Any = None, cookie: str = "") -> Answer:
    """Ask for a page, or post `body` as JSON or `form` as a browser does."""
    begun = time.monotonic()
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=40)
    try:
        if form is not None:
            kind = {"Content-Type": "application/x-www-form-urlencoded"}
            link.request("POST", path, urlencode(form), kind)
        elif body is None:
            link.request("GET", path, headers={"Cookie": cookie})
        else:
            link.request("POST", path, json.dumps(body), {"Content-Type": "application/json"})
        came = link.getresponse()
        text = came.read().decode(errors="replace")
        return Answer(came.status, text, time.monotonic() - begun, dict(came.getheaders()))
    except (OSError, http.client.HTTPException) as error:
        return Answer(0, type(error).__name__, time.monotonic() - begun)
    finally:
        link.close()


@dataclass
class Phone:
    """One member's phone. things: the occurrences it may tick, each once."""

    port: int
    secret: str
    who: str
    member: int
    things: Iterator[Mapping[str, Any]]
    acknowledged: dict[str, tuple[str, float]] = field(default_factory=dict)  # key -> status, when
    told: list[Answer] = field(default_factory=list)
    waiting: str = ""

    @property
    def path(self) -> str:
        return f"/my/{self.secret}/"

    def tick(self, going: threading.Event, deadline: list[float]) -> None:
        """Tick until `going` is cleared; what waits then is sent until it is acknowledged or the deadline is over."""
        while going.is_set():
            thing = next(self.things)
            self.waiting = str(thing["title"])
            item = dict(thing) | {"key": self.waiting, "kind": "tick"}
            while not self.send(item):
                if not going.is_set() and time.monotonic() > deadline[0]:
                    return
                time.sleep(PACE)
            self.waiting = ""
            time.sleep(PACE)

    def send(self, item: Mapping[str, Any]) -> bool:
        """Send one tick and return whether it was acknowledged."""
        answer = ask(self.port, f"{self.path}sync/", {"who": self.who, "items": [item]})
        self.told.append(answer)
        if answer.status != 200:
            return False
        (said,) = json.loads(answer.body)["answers"]
        assert said["key"] == item["key"]
        self.acknowledged[said["key"]] = (said["status"], time.monotonic())
        return True


class Load:
    """Phones ticking all at once."""

    def __init__(self, phones: Sequence[Phone]) -> None:
        self.phones = phones
        self.going = threading.Event()
        self.going.set()
        self.deadline = [float("inf")]
        self.threads = [
            threading.Thread(target=phone.tick, args=(self.going, self.deadline), daemon=True)
            for phone in phones
        ]

    def acknowledged(self) -> dict[str, tuple[int, str]]:
        """Return by key whose it was and what was answered."""
        return {
            key: (phone.member, status)
            for phone in self.phones
            for key, (status, _at) in phone.acknowledged.items()
        }

    def count(self) -> int:
        return sum(len(phone.acknowledged) for phone in self.phones)

    def statuses(self) -> Counter[int]:
        return Counter(answer.status for phone in self.phones for answer in list(phone.told))

    def slowest(self) -> float:
        return max(answer.seconds for phone in self.phones for answer in phone.told)

    def said(self, status: int) -> set[str]:
        return {answer.body for phone in self.phones for answer in phone.told if answer.status == status}

    def runs(self, more: int, seconds: float = 40) -> None:
        """Wait until so many more ticks were acknowledged."""
        wanted, deadline = self.count() + more, time.monotonic() + seconds
        while self.count() < wanted:
            assert time.monotonic() < deadline, (self.count(), self.statuses())
            time.sleep(0.02)

    def works_again(self, since: float, seconds: float = 60) -> float:
        """Wait until every phone was acknowledged something after `since` and return how long the last one waited."""
        deadline = time.monotonic() + seconds
        while True:
            firsts = [
                min((at for _status, at in list(phone.acknowledged.values()) if at > since), default=None)
                for phone in self.phones
            ]
            if all(at is not None for at in firsts):
                return max(at for at in firsts if at is not None) - since
            assert time.monotonic() < deadline, self.statuses()
            time.sleep(0.02)

    def settle(self, seconds: float = 30) -> None:
        """Begin no more ticks and wait until those that wait are through."""
        self.deadline[0] = time.monotonic() + seconds
        self.going.clear()
        for thread in self.threads:
            thread.join(seconds + 30)
        assert [phone.waiting for phone in self.phones if phone.waiting] == []


@contextmanager
def ticking(phones: Sequence[Phone]) -> Iterator[Load]:
    load = Load(phones)
    for thread in load.threads:
        thread.start()
    try:
        yield load
    finally:
        load.deadline[0] = 0.0
        load.going.clear()


def phones_of(planted: Mapping[str, Any], ports: Sequence[int], many: int = 4) -> list[Phone]:
    """Return the phones of a planted farm, spread over the web processes."""
    return [
        Phone(ports[n % len(ports)], row["secret"], row["who"], row["member"], iter(row["things"]))
        for n, row in enumerate(planted["phones"][:many])
    ]
