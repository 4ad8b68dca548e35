"""Many invented farms at once, for measuring and for trying things out: made up by a seed, written in bulk."""

from farm.services.synthetic.bulk import LOGIN, Wanted, generate

__all__ = ["LOGIN", "Wanted", "generate"]
