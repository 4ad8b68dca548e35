"""Rearing programmes: read, copied, edited, and given to batches on purpose."""
