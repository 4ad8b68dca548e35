"""Each module is one `manage.py` command."""
