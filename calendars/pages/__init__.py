"""The pages about calendar links. They live here because the farm knows nothing of calendars."""
