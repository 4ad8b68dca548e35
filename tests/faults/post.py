"""A mail server on this machine that counts, and that can be told to hang in the middle of a letter."""

from __future__ import annotations

import re
import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any


@dataclass
class Post:
    """A mail server that counts what it took. hang: "before" or "after" a letter is taken, then it never answers."""

    letters: list[tuple[str, str]] = field(default_factory=list)
    hang: str = ""
    hangs: threading.Event = field(default_factory=threading.Event)
    port: int = 0

    def got(self, name: str) -> list[str]:
        return [subject for to, subject in self.letters if to == name]


@contextmanager
def post_office() -> Iterator[Post]:
    post = Post()

    class Handler(socketserver.StreamRequestHandler):
        def say(self, line: str) -> None:
            self.wfile.write(f"{line}\r\n".encode())

        def stop(self, where: str) -> None:
            if post.hang == where:
                post.hangs.set()
                self.rfile.read()  # until whoever waits is killed

        def handle(self) -> None:
            self.say("220 post")
            while line := self.rfile.readline():
                if line.upper().startswith(b"DATA"):
                    self.stop("before")
                    self.say("354 go on")
                    post.letters.append(self.letter())
                    self.stop("after")
                self.say("250 fine")

        def letter(self) -> tuple[str, str]:
            text = b"".join(iter(self.rfile.readline, b".\r\n")).decode()
            to = re.search(r"^To: (\w+)@", text, re.MULTILINE)
            subject = re.search(r"^Subject: (.*)$", text, re.MULTILINE)
            assert to is not None
            assert subject is not None
            return to[1], subject[1].strip()

    class Server(socketserver.ThreadingTCPServer):
        daemon_threads = allow_reuse_address = True

        def handle_error(self, *_: Any) -> None:
            pass

    server = Server(("127.0.0.1", 0), Handler)
    post.port = server.server_address[1]
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    try:
        yield post
    finally:
        server.shutdown()
        server.server_close()
