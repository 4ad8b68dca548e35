"""What a farm can hold and what its batches ask for: pure arithmetic on days, no database and no clock."""
