"""The settings of a farm and of one's own login."""
