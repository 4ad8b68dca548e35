"""Exit code 0 while the pages of this container answer; for HEALTHCHECK, without Django and without curl."""

from __future__ import annotations

import http.client
import os
import sys


def healthy(port: int) -> bool:
    """Ask as the proxy would, so that an installation behind https does not send us there."""
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=4)
    try:
        link.request("GET", "/healthz", headers={"Host": "localhost", "X-Forwarded-Proto": "https"})
        return link.getresponse().status == 200
    except OSError:
        return False
    finally:
        link.close()


if __name__ == "__main__":
    sys.exit(0 if healthy(int(os.environ.get("FEATHERDAYS_PORT") or 8000)) else 1)
