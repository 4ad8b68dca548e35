"""Secrets of others kept encrypted at rest: a copy of the database alone opens nobody's account.

The key is derived from the server's own secret key, and from those it had before, so there is nothing more to keep.
"""

from __future__ import annotations

from base64 import urlsafe_b64encode
from functools import lru_cache

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.utils.translation import gettext as _

from farm.errors import FarmError

#: Says what the derived key is for: another purpose gets another key from the same secret.
_PURPOSE = b"featherdays sealing 1"


class SealBroken(FarmError):
    """What was sealed can't be opened: the server's key changed, or the text was tampered with."""


def seal(text: str) -> str:
    """Return `text` encrypted and authenticated, as ASCII. Sealing twice gives two different tokens."""
    return _box().encrypt(text.encode()).decode("ascii")


def open_sealed(token: str) -> str:
    """Return what was sealed, with the server's key or one before it. Raises SealBroken."""
    try:
        return _box().decrypt(token.encode("ascii")).decode()
    except (InvalidToken, UnicodeError) as error:
        text = _("This can't be read any more, because the server's key has changed. Enter it again.")
        raise SealBroken(text) from error


def _box() -> MultiFernet:
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([_lock(str(key)) for key in keys])


@lru_cache(maxsize=8)
def _lock(secret: str) -> Fernet:
    derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=_PURPOSE).derive(secret.encode())
    return Fernet(urlsafe_b64encode(derived))
