"""Other machines told of what changes on the farm: signed, in order, at least once."""
