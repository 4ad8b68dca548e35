"""What goes wrong with a backup, in words for whoever runs the machine."""

from __future__ import annotations

from farm.errors import FarmError


class BackupTrouble(FarmError):
    """A backup could not be made, is not whole, or may not be restored here. Nothing was changed."""
