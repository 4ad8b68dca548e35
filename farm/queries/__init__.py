"""Reads: rows to what the pages, calendars and the pure planning parts need. Nothing here writes."""
