"""The one error tree. Services raise these; one handler per face turns them into forms, HTTP or exit codes.

    FarmError
    ├── BadInput      what was typed cannot be right; `fields` says where and how to mend it
    ├── NotAllowed    this member may not do this
    ├── NotFound      no such thing on this farm
    └── Stale         somebody else changed it first; `changes` says what

Every message says the fix in a keeper's words and is a Django lazy or plain translated string.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

WHOLE_FORM = ""


class FarmError(Exception):
    """Anything a service refuses. Nothing was saved."""

    def __init__(self, message: object = "") -> None:
        super().__init__(str(message))
        self.message = message


class BadInput(FarmError):
    """Input that cannot be right.

    fields: field name ("" for the whole form) -> messages.
    """

    def __init__(self, fields: Mapping[str, Sequence[object]]) -> None:
        super().__init__("; ".join(str(text) for texts in fields.values() for text in texts))
        self.fields = {name: list(texts) for name, texts in fields.items()}

    @classmethod
    def at(cls, field: str, message: object) -> BadInput:
        """Return the error of one field."""
        return cls({field: [message]})


class NotAllowed(FarmError):
    """The member's role does not allow this."""


class NotFound(FarmError):
    """No such thing on this farm. Says the same for another farm's thing, so that ids tell nothing."""


class Stale(FarmError):
    """The thing was changed by somebody else since the form was opened.

    changes: one plain line for each change since. version: of the record now, so that whoever has read the changes can
    save again.
    """

    def __init__(self, message: object, changes: Sequence[str] = (), version: int | None = None) -> None:
        super().__init__(message)
        self.changes = list(changes)
        self.version = version
