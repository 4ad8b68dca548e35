"""Calendars of others read in: a family's own (school, shifts, holidays) tells on which days a member is away."""
