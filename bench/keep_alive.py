"""Asking one thing again and again over connections that stay open: bytes out, bytes in, as little else as can be."""

from __future__ import annotations

import socket
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from time import perf_counter

CONNECTIONS = 4  # at once; project default (judgement)


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back."""

    status: int
    tag: str
    body: bytes
    closed: bool  # whether the server closes the connection after it, as waitress does after a 304


@dataclass(frozen=True)
class Asked:
    """A GET of `path` on a port of this machine."""

    port: int
    path: str
    headers: Mapping[str, str]

    @property
    def octets(self) -> bytes:
        """Return the request as it is sent."""
        lines = [f"GET {self.path} HTTP/1.1", f"Host: localhost:{self.port}"]
        lines += [f"{name}: {value}" for name, value in self.headers.items()]
        return "\r\n".join([*lines, "", ""]).encode()

    def once(self) -> Answer:
        """Ask over a connection of its own."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=60) as connection:
            return asked(connection, self.octets)


def asked(connection: socket.socket, request: bytes) -> Answer:
    """Send a request and read its answer to the end, by its Content-Length. ConnectionError when it breaks off."""
    connection.sendall(request)
    got = b""
    while (at := got.find(b"\r\n\r\n")) < 0:
        got += _more(connection)
    head = got[:at].decode("latin-1").split("\r\n")
    headers = {name.lower(): value for name, _, value in (line.partition(": ") for line in head[1:])}
    status = int(head[0].split()[1])
    length = 0 if status == 304 else int(headers["content-length"])
    parts, have = [got[at + 4 :]], len(got) - at - 4
    while have < length:
        parts.append(_more(connection))
        have += len(parts[-1])
    closed = headers.get("connection", "").lower() == "close"
    return Answer(status, headers.get("etag", ""), b"".join(parts), closed)


def rate(what: Asked, seconds: float, connections: int = CONNECTIONS) -> float:
    """Return the requests a second answered over so many connections at once; each answer is like the first.

    RuntimeError when one is not.
    """
    first = what.once()
    until = perf_counter() + seconds

    def run() -> tuple[int, float]:
        many, start = 0, perf_counter()
        while perf_counter() < until or not many:
            with socket.create_connection(("127.0.0.1", what.port), timeout=60) as connection:
                closed = False
                while not closed and (perf_counter() < until or not many):
                    answer = asked(connection, what.octets)
                    if (answer.status, len(answer.body)) != (first.status, len(first.body)):
                        raise RuntimeError(f"{what.path} answered {answer.status} after {first.status}")
                    many, closed = many + 1, answer.closed
        return many, perf_counter() - start

    with ThreadPoolExecutor(connections) as pool:
        runs = [pool.submit(run) for _ in range(connections)]
        return sum(many / took for many, took in (each.result() for each in runs))


def _more(connection: socket.socket) -> bytes:
    got = connection.recv(262_144)
    if not got:
        raise ConnectionError("the server closed the connection")
    return got
