"""Servers on this machine for the channels to talk to: https with a certificate of their own, http, and SMTP."""

from __future__ import annotations

import datetime
import json
import socketserver
import ssl
import threading
from base64 import urlsafe_b64encode
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec

from farm.services.channels.encryption import point

Answer = Callable[[BaseHTTPRequestHandler], None]
HOST = "push.example"


@dataclass
class Asked:
    """One question a stub saw."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes


@dataclass
class Stub:
    """A web server that answers as it is told, and keeps what it was asked."""

    answer: Answer
    asked: list[Asked] = field(default_factory=list)
    port: int = 0


def reply(handler: BaseHTTPRequestHandler, status: int, body: bytes = b"", **headers: str) -> None:
    handler.send_response(status)
    said = {"Content-Length": str(len(body))} | {
        name.replace("_", "-"): value for name, value in headers.items()
    }
    for name, value in said.items():
        handler.send_header(name, value)
    handler.end_headers()
    handler.wfile.write(body)


def always(status: int, body: bytes = b"", **headers: str) -> Answer:
    return lambda handler: reply(handler, status, body, **headers)


@contextmanager
def web_server(answer: Answer, certificate: Path | None = None) -> Iterator[Stub]:
    """A stub on 127.0.0.1; certificate: a file with key and certificate, for https."""
    stub = Stub(answer)

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            stub.asked.append(Asked(self.command, self.path, dict(self.headers), body))
            with suppress(OSError):  # whoever asked has gone
                stub.answer(self)

        do_POST = do_GET

        def log_message(self, *_: Any) -> None:
            pass

    class Server(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_: Any) -> None:
            pass

    server = Server(("127.0.0.1", 0), Handler)
    if certificate:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(certificate)
        server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    stub.port = server.server_address[1]
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    try:
        yield stub
    finally:
        server.shutdown()
        server.server_close()


def certificate(folder: Path, *names: str) -> Path:
    """Write a key and a certificate that vouches for itself, for these names, and return the file."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "stub")])
    now = datetime.datetime.now(datetime.UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - datetime.timedelta(days=1))
        .not_valid_after(now + datetime.timedelta(days=1))
        .add_extension(
            x509.SubjectAlternativeName([*map(x509.DNSName, names), x509.IPAddress(ip_address("127.0.0.1"))]),
            critical=False,
        )
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )
    path = folder / f"{names[0]}.pem"
    pem = serialization.Encoding.PEM
    path.write_bytes(
        key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
        + made.public_bytes(pem)
    )
    return path


@dataclass
class Browser:
    """Somebody's browser: the keys it made, and the subscription it handed out."""

    key: ec.EllipticCurvePrivateKey
    auth: bytes
    endpoint: str

    def address(self, **changed: Any) -> str:
        keys = {"p256dh": _base64(point(self.key.public_key())), "auth": _base64(self.auth)}
        return json.dumps({"endpoint": self.endpoint, "expirationTime": None, "keys": keys} | changed)


def browser(endpoint: str) -> Browser:
    return Browser(ec.generate_private_key(ec.SECP256R1()), b"sixteen bytes ok", endpoint)


def _base64(data: bytes) -> str:
    return urlsafe_b64encode(data).decode().rstrip("=")


@dataclass
class MailStub:
    """A mail server: `says` holds its answers by command, all else is taken. `letters` are those it took."""

    says: dict[str, str] = field(default_factory=dict)
    letters: list[str] = field(default_factory=list)
    port: int = 0


@contextmanager
def mail_server() -> Iterator[MailStub]:
    stub = MailStub()

    class Handler(socketserver.StreamRequestHandler):
        def say(self, line: str) -> None:
            self.wfile.write(f"{line}\r\n".encode())

        def handle(self) -> None:
            self.say(stub.says.get("HELLO", "220 stub"))
            while line := self.rfile.readline():
                command = line.decode().strip()[:4].upper()
                if command == "DATA" and "DATA" not in stub.says:
                    self.say("354 go on")
                    self.say(stub.says.get("END", "250 taken") if self._letter() else "500 cut")
                    continue
                self.say(stub.says.get(command, "250 fine"))
                if command == "QUIT":
                    return

        def _letter(self) -> bool:
            lines = []
            while (line := self.rfile.readline()) not in (b".\r\n", b""):
                lines.append(line.decode())
            if "END" not in stub.says:
                stub.letters.append("".join(lines))
            return True

    class Server(socketserver.ThreadingTCPServer):
        daemon_threads = allow_reuse_address = True

        def handle_error(self, *_: Any) -> None:
            pass

    server = Server(("127.0.0.1", 0), Handler)
    stub.port = server.server_address[1]
    threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    try:
        yield stub
    finally:
        server.shutdown()
        server.server_close()
