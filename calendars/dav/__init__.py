"""Chores in a task app: a small CalDAV server for ticking, after RFC 4791, 6578, 5397 and 6764.

One list of to-dos for each member, one to-do for each occurrence, never a repeating one. Task apps may tick and take
their own tick back; every other wish is refused with 403 and the condition it breaks.

door        what answers an address below /dav/        door.py
guests      who is asking: app passwords               guests.py, brake.py, passwords.py
lists       what a member's list holds, by version     lists.py, items.py, todo.py, models.py
properties  what is told of each place                 properties.py, propfind.py
reports     queries, many at once, what changed        reports.py, filters.py, syncing.py
ticking     what a changed to-do may mean              ticking.py, asked.py
xml         the only way XML comes in and goes out     xml.py, answers.py
pages       where members make and revoke passwords    pages.py, forms.py, urls.py
"""
