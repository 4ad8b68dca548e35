"""Alerts: the letters about them."""
