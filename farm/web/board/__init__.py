"""The board: one row per housing, days across, each a filled load curve under its capacity line."""
