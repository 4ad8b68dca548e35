"""Strict readers of environment variables: a wrong value stops the start with a message that says the fix.

An empty variable counts as unset, because compose files and service units often pass empty ones on.
"""

from __future__ import annotations

import os
from pathlib import Path
from urllib.parse import urlsplit

from django.core.exceptions import ImproperlyConfigured

TRUE = frozenset({"1", "true", "yes", "on"})
FALSE = frozenset({"0", "false", "no", "off"})


class SettingError(ImproperlyConfigured):
    """A variable holds what can't be used; the message names it and says what to write instead."""

    def __init__(self, name: str, problem: str, fix: str) -> None:
        self.name = name
        super().__init__(f"{name} {problem}. {fix}")


def text(name: str, default: str = "") -> str:
    """Return the variable `name` without surrounding blanks, or `default` when it is unset or empty."""
    return os.environ.get(name, "").strip() or default


def flag(name: str, default: bool = False) -> bool:
    """Return a yes or no; SettingError for any other word, so that a typing slip never means "no"."""
    word = text(name).lower()
    if not word:
        return default
    if word not in TRUE | FALSE:
        raise SettingError(name, f"is {word!r}, which is neither yes nor no", "Write 1 or 0.")
    return word in TRUE


def number(name: str, default: int, low: int, high: int) -> int:
    """Return a whole number within [low, high]; SettingError names the range."""
    word = text(name)
    if not word:
        return default
    fix = f"Write a whole number from {low} to {high}."
    if not (word.isascii() and word.isdigit()):
        raise SettingError(name, f"is {word!r}, not a whole number", fix)
    if not low <= int(word) <= high:
        raise SettingError(name, f"is {word}, out of range", fix)
    return int(word)


def listing(name: str) -> list[str]:
    """Return the comma-separated parts of a variable, blanks trimmed and empty parts left out."""
    return [part.strip() for part in text(name).split(",") if part.strip()]


def choice(name: str, default: str, allowed: tuple[str, ...]) -> str:
    """Return one of the `allowed` words, written in any case; SettingError lists them."""
    word = text(name, default)
    for known in allowed:
        if word.lower() == known.lower():
            return known
    raise SettingError(name, f"is {word!r}", f"Write one of: {', '.join(allowed)}.")


def secret(name: str, default: str = "") -> str:
    """Return the variable `name`, or the first line of the file that `name`_FILE points to.

    Secrets in files stay out of process listings and crash reports. SettingError when both are set (which one
    holds would be a guess), or when the file can't be read or is empty.
    """
    given, path = text(name), text(f"{name}_FILE")
    if given and path:
        raise SettingError(name, f"and {name}_FILE are both set", "Keep one of the two.")
    if not path:
        return given or default
    try:
        lines = Path(path).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not text"
        raise SettingError(
            f"{name}_FILE",
            f"points to {path}, unreadable ({reason})",
            "Correct the path or its rights.",
        ) from error
    if not lines or not lines[0].strip():
        raise SettingError(
            f"{name}_FILE", f"points to {path}, which is empty", "Write the secret on its first line."
        )
    return lines[0].strip()


def link(name: str, default: str) -> str:
    """Return the address of a page or service, with its path: `https://weather.example/forecast`."""
    word = text(name, default)
    fix = "Write a whole address without a query, like https://weather.example/forecast."
    try:
        parts = urlsplit(word)
        _ = parts.port
    except ValueError as error:
        raise SettingError(name, f"is {word!r}, whose host or port can't be read", fix) from error
    unfit = parts.username or parts.query or parts.fragment
    if parts.scheme not in ("http", "https") or not parts.hostname or unfit:
        raise SettingError(name, f"is {word!r}, not the address of a service", fix)
    return word


def address(name: str, default: str) -> str:
    """Return a base address such as `https://birds.example`: scheme and host, no path, no closing slash."""
    word = text(name, default).rstrip("/")
    fix = "Write scheme and host alone, like https://birds.example."
    try:
        parts = urlsplit(word)
        _ = parts.port
    except ValueError as error:
        raise SettingError(name, f"is {word!r}, whose host or port can't be read", fix) from error
    if (
        parts.scheme not in ("http", "https")
        or not parts.hostname
        or parts.username
        or parts.path
        or parts.query
    ):
        raise SettingError(name, f"is {word!r}, not the address of a site", fix)
    return word
