"""A farm leaves as one file and comes back from it, on this server or another.

archives.take(by, to)                                   # a keeper writes the farm into an open file
archives.bring(file, login=login, as_member="", ...)    # a new farm of the same records, or BadInput and nothing
"""

from farm.services.archives.bringing import bring
from farm.services.archives.taking import take

__all__ = ["bring", "take"]
