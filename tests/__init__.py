"""The tests: folders that mirror the code, and folders that look at the whole."""
