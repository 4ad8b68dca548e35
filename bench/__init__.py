"""Measurements of the project's own claims: `python -m bench [name ...]`, or script/bench."""
