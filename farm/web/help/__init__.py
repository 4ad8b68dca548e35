"""The help inside the pages."""
