"""How days and times are written, where Django's own habit for a language does not suit a barn door."""
