"""The second step of signing in: switching it on and off, and the page that asks for a code."""
