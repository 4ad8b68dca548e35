"""A farm leaves as one file, and comes back from it."""
