"""The pages about calendars read for days away."""
