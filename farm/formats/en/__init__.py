"""English."""
