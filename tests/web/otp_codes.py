"""Codes as an authenticator app makes them, by RFC 6238 alone, and the way through the pages that switches it on."""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
import struct
import time
from typing import Any

from django.urls import reverse

PASSWORD = "correct horse battery"


def code_of(secret: str, *, steps: int = 0) -> str:
    """Return the six digits of a base32 secret now, or so many steps of 30 seconds later (RFC 6238, RFC 4226)."""
    key = base64.b32decode(secret.replace(" ", ""), casefold=True)
    mac = hmac.new(key, struct.pack(">Q", int(time.time()) // 30 + steps), hashlib.sha1).digest()
    at = mac[-1] & 15
    return f"{(struct.unpack('>I', mac[at : at + 4])[0] & 0x7FFFFFFF) % 10**6:06d}"


def wrong(code: str) -> str:
    """Return another code of the same look."""
    return f"{(int(code) + 500_000) % 10**6:06d}"


def sign_in(client: Any, email: str = "ada@example.org", password: str = PASSWORD, **more: Any) -> Any:
    """Give e-mail and password on the sign-in page."""
    return client.post(reverse("login"), {"username": email, "password": password}, **more)


def switch_on(client: Any, password: str = PASSWORD) -> tuple[str, list[str]]:
    """Switch the second step on for whoever is signed in; return the secret and the recovery codes."""
    client.post(reverse("second-step"), {"password": password})
    page = client.get(reverse("second-step-add")).content.decode()
    secret = re.search(r'class="spelled">([A-Z2-7 ]+)<', page)[1]
    page = client.post(reverse("second-step-add"), {"code": code_of(secret)}).content.decode()
    return secret, re.findall(r"<li>([a-z0-9]{4}-[a-z0-9]{4}-[a-z0-9]{4})</li>", page)
