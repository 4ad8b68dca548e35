"""A member's own page: their rounds to tick, signed in or by a personal link, also where there is no network."""
