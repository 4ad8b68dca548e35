"""Backups: one file with the database, pictures and keys; checked when written, checked before it is restored."""

from farm.services.backups.folder import Backup, Keeping, folder_or_none, found, last_made, rotate
from farm.services.backups.making import make, make_if_due
from farm.services.backups.restoring import restore
from farm.services.backups.trouble import BackupTrouble
from farm.services.backups.verifying import verify

__all__ = [
    "Backup",
    "BackupTrouble",
    "Keeping",
    "folder_or_none",
    "found",
    "last_made",
    "make",
    "make_if_due",
    "restore",
    "rotate",
    "verify",
]
