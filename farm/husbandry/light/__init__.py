"""Light: when the sun is up, how many hours of light an age should have, and the lamp hours that make up the rest."""
