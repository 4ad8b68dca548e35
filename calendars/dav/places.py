"""The addresses below /dav/: the root, a member's home, their list, one to-do."""

from __future__ import annotations

from dataclasses import dataclass

from calendars.dav.guests import Guest
from calendars.dav.models import TodoList, TodoVersion

ROOT = "/dav/"


@dataclass(frozen=True, slots=True)
class Place:
    """One address. kind: "root", "home", "list" or "todo". row: the list, settled, from the list down."""

    kind: str
    guest: Guest
    row: TodoList | None = None
    version: TodoVersion | None = None

    @property
    def path(self) -> str:
        """Return the address."""
        if self.kind == "root":
            return ROOT
        if self.kind == "home":
            return home_path(self.guest)
        if self.version is None:
            return list_path(self.guest)
        return todo_path(self.guest, self.version.name)


def home_path(guest: Guest) -> str:
    """Return the address of a member's home, which is their principal."""
    return f"{ROOT}{guest.name}/"


def list_path(guest: Guest) -> str:
    """Return the address of a member's list."""
    return f"{home_path(guest)}rounds/"


def todo_path(guest: Guest, name: str) -> str:
    """Return the address of one to-do."""
    return f"{list_path(guest)}{name}.ics"
