"""Secrets that open something to whoever holds them: what is kept of one."""

from __future__ import annotations

import hashlib


def token_hash(secret: str) -> str:
    """Return what is stored of a secret. Long and random, it needs no slow hash."""
    return hashlib.sha256(secret.encode()).hexdigest()
