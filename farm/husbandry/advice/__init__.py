"""What to do about what was seen, read, weighed and lost. Advice is never certainty: it says what it rests on."""
