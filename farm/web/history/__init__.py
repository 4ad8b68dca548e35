"""What was changed, by whom, from where, and the way back."""
