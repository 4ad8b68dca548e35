"""kombu's Redis transport without its event loop: a worker whose Redis went away asks again until it is back.

In the event loop one thread waits for messages while those of the jobs tell Redis what they have done. When such a
thread is the first to notice that the connection is gone, the loop may never hear of it, and the worker waits for ever.
The plain loop, which the in-machine broker uses too, asks anew each second and meets the fault itself.
"""

from __future__ import annotations

from kombu.transport import redis


class Transport(redis.Transport):
    """The transport that the broker addresses `redis://` and `rediss://` name."""

    implements = redis.Transport.implements.extend(asynchronous=False)
