"""Featherdays: what a farm of several batches of young birds needs, day by day, and what it has."""
