"""The page of the farm's climate: by month, from a daily record, and whether a weather service is asked."""
