"""Calendars: published iCalendar for every member of a farm."""
