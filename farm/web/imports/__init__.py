"""Housing and batches from a table: pasted or uploaded, looked at, then saved in one go."""
