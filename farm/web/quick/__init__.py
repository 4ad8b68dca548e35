"""Quick entry: a plain sentence becomes a count entry, a move or an observation."""
