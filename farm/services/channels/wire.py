"""A TLS connection to an address that was judged beforehand, with one end of time for everything on it."""

from __future__ import annotations

import http.client
import io
import socket
import ssl
import time
from collections.abc import Sequence
from typing import Any

#: No one address is tried for longer, seconds: the next may answer. Project default (judgement).
CONNECT_SECONDS = 5.0


def left(ends: float) -> float:
    """Return the seconds until `ends` (monotonic). Raises TimeoutError when there are none."""
    rest = ends - time.monotonic()
    if rest <= 0:
        raise TimeoutError("the time is over")
    return rest


class _TimedReader(io.RawIOBase):
    """Reads from a socket until `ends`, however often the other side sends one more byte."""

    def __init__(self, inner: ssl.SSLSocket, ends: float) -> None:
        self._inner, self._ends = inner, ends

    def readable(self) -> bool:
        """Say that it can be read."""
        return True

    def readinto(self, buffer: Any) -> int:
        """Fill some of `buffer`. Raises TimeoutError when the time is over."""
        self._inner.settimeout(left(self._ends))
        return self._inner.recv_into(buffer)

    def close(self) -> None:
        """Close the connection with what was read from it."""
        self._inner.close()
        super().close()


class TimedSocket:
    """As much of a socket as http.client uses, each part of it ending in time."""

    def __init__(self, inner: ssl.SSLSocket, ends: float) -> None:
        self._inner, self._ends, self._read = inner, ends, False

    def sendall(self, data: bytes) -> None:
        """Send all of `data`."""
        self._inner.settimeout(left(self._ends))
        self._inner.sendall(data)

    def makefile(self, mode: str) -> io.BufferedReader:
        """Return what the answer is read from; from now on the connection is its to close."""
        self._read = True
        return io.BufferedReader(_TimedReader(self._inner, self._ends))

    def close(self) -> None:
        """Close the connection, unless an answer is still read: http.client is done with the socket before that."""
        if not self._read:
            self._inner.close()


class Pinned(http.client.HTTPSConnection):
    """A connection for `host` that goes to one of `addresses` and nowhere else; the certificate must be the host's."""

    def __init__(
        self, host: str, port: int, addresses: Sequence[str], ends: float, context: ssl.SSLContext
    ) -> None:
        super().__init__(host, port, context=context)
        self._addresses, self._ends, self._trust = addresses, ends, context

    def connect(self) -> None:
        """Connect to the first address that answers. Raises OSError."""
        bare = self._reach()
        try:
            bare.settimeout(left(self._ends))
            inner = self._trust.wrap_socket(bare, server_hostname=self.host)
        except BaseException:
            bare.close()
            raise
        self.sock: Any = TimedSocket(inner, self._ends)

    def _reach(self) -> socket.socket:
        failure: OSError = OSError("no address")
        for address in self._addresses:
            try:
                return socket.create_connection(
                    (address, self.port), timeout=min(CONNECT_SECONDS, left(self._ends))
                )
            except OSError as error:
                failure = error
        raise failure
