"""The keeper's own chores: the list, the form, ending and removing them."""
