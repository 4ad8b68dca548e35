"""Leaving for good: a farm is removed, a member forgotten, a login given up."""
