"""The data folder: everything that must be kept or kept secret, in one place, readable by its owner alone."""

from __future__ import annotations

import os
import re
import secrets
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable
from pathlib import Path

from farm.settings.env import SettingError

FIX = "Name a folder this user may write to."
#: How many points the curve P-256 has (NIST SP 800-186, 3.2.1.3); a private key is a number below it.
P256_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551


def data_folder(path: Path) -> Path:
    """Return `path` as an absolute folder, made with mode 0700 when it is not there yet."""
    path = path.expanduser().absolute()
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        problem = f"is {path}, which can't be made ({error.strerror})"
        raise SettingError("FEATHERDAYS_DATA", problem, FIX) from error
    if not os.access(path, os.W_OK | os.X_OK):
        raise SettingError("FEATHERDAYS_DATA", f"is {path}, which is not writable", FIX)
    return path


def secret_key(data: Path) -> str:
    """Return the key that signs sessions and links, kept in the data folder."""
    key = _kept(data, "secret_key", lambda: secrets.token_urlsafe(64))
    if len(key) < 50:
        raise _damaged(data, "secret_key", "everyone signs in again")
    return key


def push_key(data: Path) -> str:
    """Return the key that signs messages to browsers, kept in the data folder."""
    key = _kept(data, "push_key", new_push_key)
    if not is_push_key(key):
        raise _damaged(data, "push_key", "everyone switches messages to browsers on again")
    return key


def given_push_key(text: str) -> str:
    """Return a key given by the environment, "" when none is; SettingError, without the key, when it is no key."""
    if text and not is_push_key(text):
        fix = "Copy it from the file push_key of a data folder, or leave it out to have one made."
        raise SettingError("FEATHERDAYS_PUSH_KEY", "is no key for messages to browsers", fix)
    return text


def new_push_key() -> str:
    """Return a fresh private key on the curve P-256: 32 bytes as base64url."""
    return urlsafe_b64encode((secrets.randbelow(P256_ORDER - 1) + 1).to_bytes(32, "big")).decode().rstrip("=")


def is_push_key(text: str) -> bool:
    """Say whether `text` is what `new_push_key` makes."""
    if not re.fullmatch(r"[A-Za-z0-9_-]{43}", text):
        return False
    return 0 < int.from_bytes(urlsafe_b64decode(text + "="), "big") < P256_ORDER


def _kept(data: Path, name: str, make: Callable[[], str]) -> str:
    """Return a secret kept in a file of the data folder, made on first use with mode 0600.

    The finished file is linked into place, so that two processes starting at once agree on one secret.
    """
    path = data / name
    if not path.exists():
        draft = data / f".{name}.{secrets.token_hex(8)}"
        try:
            with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
                file.write(make() + "\n")
            os.link(draft, path)
        except FileExistsError:
            pass  # the other process was first: its secret holds
        except OSError as error:
            raise SettingError("FEATHERDAYS_DATA", f"is {data}, which can't be written to", FIX) from error
        finally:
            draft.unlink(missing_ok=True)
    return path.read_text(encoding="ascii", errors="replace").strip()


def _damaged(data: Path, name: str, price: str) -> SettingError:
    problem = f"holds a damaged key, {data / name}"
    return SettingError("FEATHERDAYS_DATA", problem, f"Delete that file; {price}.")
