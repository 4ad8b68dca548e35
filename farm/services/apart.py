"""Programs of ours that run in a process of their own, because what they are given is somebody else's."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[2]
#: All of such a program's variables: no proxies, and no passwords kept at home for other programs.
VARIABLES = {"HOME": "/nonexistent", "LANG": "C.UTF-8"}


def run(program: str, sent: bytes, seconds: float) -> subprocess.CompletedProcess[bytes]:
    """Run a module of ours by name, with `sent` by a pipe, and return how it ended with what it wrote.

    By a pipe, because others on the machine can read what a program was started with. Raises OSError, and
    subprocess.TimeoutExpired after so many seconds.
    """
    return subprocess.run(
        [sys.executable, "-m", program],
        input=sent,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        cwd=_ROOT,
        env=VARIABLES,
        timeout=seconds,
        check=False,
    )
