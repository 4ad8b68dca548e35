"""The data folder: everything that must be kept or kept secret, in one place, readable by its owner alone."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from farm.settings.env import SettingError

FIX = "Name a folder this user may write to."


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
    """Return the key kept in the data folder, made on first use with mode 0600.

    The finished file is linked into place, so that two processes starting at once agree on one key.
    """
    path = data / "secret_key"
    if not path.exists():
        draft = data / f".secret_key.{secrets.token_hex(8)}"
        try:
            with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
                file.write(secrets.token_urlsafe(64) + "\n")
            os.link(draft, path)
        except FileExistsError:
            pass  # the other process was first: its key is the key
        except OSError as error:
            raise SettingError("FEATHERDAYS_DATA", f"is {data}, which can't be written to", FIX) from error
        finally:
            draft.unlink(missing_ok=True)
    key = path.read_text(encoding="ascii").strip()
    if len(key) < 50:
        raise SettingError(
            "FEATHERDAYS_DATA", f"holds a damaged key, {path}", "Delete that file; everyone signs in again."
        )
    return key
