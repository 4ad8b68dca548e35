"""A disk of a few megabytes that a test may fill: a tmpfs, mounted as root or in a namespace of the test's own."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.faults.servers import end, end_with_parent, lacking

MB = 1024 * 1024
SIZE = 48  # megabytes: the pages' files, the database, and little else


@dataclass(frozen=True)
class SmallDisk:
    """A small disk at `path`."""

    path: Path

    @property
    def ballast(self) -> Path:
        return self.path / "ballast"

    def fill(self) -> None:
        """Leave not one byte."""
        with self.ballast.open("ab", buffering=0) as file:
            for size in (MB, 4096, 1):
                while _written(file.fileno(), size):
                    pass
        assert shutil.disk_usage(self.path).free == 0

    def free(self) -> None:
        self.ballast.unlink()


def _written(file: int, size: int) -> bool:
    try:
        return os.write(file, b"\0" * size) > 0
    except OSError:
        return False


@contextmanager
def small_disk(folder: Path) -> Iterator[SmallDisk]:
    """Mount one on a folder. Who may not mount gets a namespace in which they may, and reaches it through /proc."""
    folder.mkdir()
    options = ["-t", "tmpfs", "-o", f"size={SIZE}m,mode=0700", "tmpfs", str(folder)]
    if _runs(["mount", *options]):
        try:
            yield SmallDisk(folder)
        finally:
            subprocess.run(["umount", "--lazy", str(folder)], check=True)
        return
    # The shell stays, and with it the namespace and its disk.
    script = 'mount "$@" && echo mounted && exec sleep 3600'
    holder = subprocess.Popen(
        ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", script, "sh", *options],
        stdout=subprocess.PIPE,
        preexec_fn=end_with_parent,
    )
    try:
        assert holder.stdout is not None
        if holder.stdout.readline() != b"mounted\n":
            lacking("no small disk can be made: mounting is allowed neither here nor in a namespace")
        yield SmallDisk(Path(f"/proc/{holder.pid}/root{folder}"))
    finally:
        end(holder)


def _runs(command: list[str]) -> bool:
    return subprocess.run(command, capture_output=True, check=False).returncode == 0
