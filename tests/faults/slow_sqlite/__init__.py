"""SQLite on a disk that takes its time: see base.py."""
