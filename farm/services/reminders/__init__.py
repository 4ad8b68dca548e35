"""Telling people: what falls due when (`moments`), what it says (`texts`), making and sending it (`making`, `sending`).

A message is planned at least once and made once: the database refuses the second of the same name. It is sent once; a
worker that dies in the middle of sending leaves it to be sent once more, marked "Again".
"""
