"""The in-machine broker: one file per message in the data folder, so that a household needs no Redis.

kombu's file transport writes a message into the file a reader may already be listing, and parks taken
messages in the system's temporary folder. Here a message appears whole or not at all, by renaming, and stays
in the data folder. A message a worker had taken when the machine lost power is gone; the hourly sweep repairs
what it would have done.
"""

from __future__ import annotations

import json
import os
import time
import uuid
from contextlib import suppress
from pathlib import Path
from queue import Empty
from typing import Any

from kombu.exceptions import ChannelError
from kombu.transport import filesystem, virtual

SUFFIX = ".msg"


class Channel(filesystem.Channel):
    """Reads and writes messages by renaming files within one file system."""

    def __init__(self, connection: Any, **kwargs: Any) -> None:
        super().__init__(connection, **kwargs)
        for folder in (self.data_folder_in, self.data_folder_out, self.processed_folder, self.control_folder):
            try:
                Path(folder).mkdir(mode=0o700, parents=True, exist_ok=True)
            except OSError as error:
                raise ChannelError(f"Cannot make the broker folder {folder}: {error.strerror}") from error

    def _put(self, queue: str, payload: dict[str, Any], **kwargs: Any) -> None:  # type: ignore[override]
        # Wall-clock order survives a reboot, which kombu's monotonic stamp doesn't.
        name = f"{time.time_ns():020d}_{uuid.uuid4()}.{queue}{SUFFIX}"
        _write_whole(Path(self.data_folder_out) / name, payload)

    def _get(self, queue: str, timeout: float | None = None) -> dict[str, Any]:
        ending = f".{queue}{SUFFIX}"
        for name in sorted(os.listdir(self.data_folder_in)):
            if not name.endswith(ending):
                continue
            taken = Path(self.processed_folder) / name
            try:
                os.rename(Path(self.data_folder_in) / name, taken)
            except FileNotFoundError:
                continue  # another worker was first
            payload: dict[str, Any] = json.loads(taken.read_text(encoding="utf-8"))
            taken.unlink()
            return payload
        raise Empty()

    def _queue_bind(self, exchange: str, routing_key: str, pattern: str, queue: str) -> None:
        # Every process binds the same one queue; writing it only once leaves readers alone afterwards.
        binding = filesystem.exchange_queue_t(routing_key or "", pattern or "", queue or "")
        table = self.get_table(exchange)
        if binding not in table:
            _write_whole(self._exchange_file(exchange), [binding, *table])


class Transport(filesystem.Transport):
    """kombu's file transport over the channel above; the settings' broker address `spool://` names it."""

    Channel = Channel

    def __init__(self, client: Any, **kwargs: Any) -> None:
        super().__init__(client, **kwargs)
        # kombu remembers bindings for the whole process: a folder emptied meanwhile would never be bound again,
        # and its messages go nowhere.
        self.state = virtual.BrokerState()


def _write_whole(path: Path, content: object) -> None:
    draft = path.with_name(f".{uuid.uuid4()}.draft")
    try:
        draft.write_text(json.dumps(content), encoding="utf-8")
        os.replace(draft, path)
    except OSError as error:
        with suppress(OSError):
            draft.unlink()  # on a full disk half a file would stay for ever
        raise ChannelError(f"Cannot write {path}: {error.strerror}") from error
