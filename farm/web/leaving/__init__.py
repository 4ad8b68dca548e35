"""Leaving for good: closing a farm, forgetting a member, giving up a login."""
