"""Signing in and out, starting a farm, joining one."""
