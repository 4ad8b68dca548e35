"""Keeps one machine's processes together: one that dies is started again, one signal ends them all."""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

# SIGTERM comes first; whoever is not gone after this is killed, so that Ctrl-C never takes longer than 5
# seconds.
GRACE_SECONDS = 4.0
DEATHS_ALLOWED = 5
DEATHS_WITHIN_SECONDS = 60.0
LONGEST_PAUSE_SECONDS = 8.0
TICK_SECONDS = 0.2


@dataclass(slots=True)
class Child:
    """One process: its command, and when it died lately."""

    name: str
    command: Sequence[str]
    process: subprocess.Popen[bytes] | None = None
    deaths: list[float] = field(default_factory=list)
    start_at: float = 0.0


class Supervisor:
    """Runs named commands until a signal, or until one of them dies too often.

    commands: name -> argument list. env: the children's environment. say: where news for the keeper go. grace: seconds
    from the polite signal to the other one. proxy: the name of one that is stopped before the others, by SIGQUIT as
    nginx wants it, so that nobody is sent to a process that is going.
    """

    def __init__(
        self,
        commands: Mapping[str, Sequence[str]],
        env: Mapping[str, str],
        say: Callable[[str], None],
        *,
        grace: float = GRACE_SECONDS,
        proxy: str = "",
    ) -> None:
        self.children = [Child(name, command) for name, command in commands.items()]
        self.env = dict(env)
        self.say = say
        self.grace = grace
        self.proxy = proxy
        self.stopping = threading.Event()

    def run(self, tick: Callable[[], None] = lambda: None) -> int:
        """Run until stopped and return the exit code: 0 after a signal, 1 when a process would not stay up.

        tick: called several times a second while everything runs.
        """
        with self._signals():
            try:
                while not self.stopping.wait(TICK_SECONDS):
                    if not all(self._keep_up(child) for child in self.children):
                        return 1
                    tick()
                return 0
            finally:
                self.stop()

    def stop(self) -> None:
        """End every process: politely, then by force, each with whatever it started itself."""
        proxies = [child for child in self.children if child.name == self.proxy]
        self._end(proxies, signal.SIGQUIT)
        self._end([child for child in self.children if child not in proxies], signal.SIGTERM)

    def _end(self, children: Sequence[Child], politely: int) -> None:
        alive = [child.process for child in children if child.process and child.process.poll() is None]
        for process in alive:
            _signal(process, politely)
        deadline = time.monotonic() + self.grace
        for process in alive:
            try:
                process.wait(max(0.0, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                _signal(process, signal.SIGKILL)
                process.wait()

    def _keep_up(self, child: Child) -> bool:
        now = time.monotonic()
        if child.process is not None and child.process.poll() is None:
            return True
        if child.process is not None:
            child.deaths = [at for at in child.deaths if now - at < DEATHS_WITHIN_SECONDS] + [now]
            if len(child.deaths) >= DEATHS_ALLOWED:
                self.say(
                    f"The {child.name} process ended {len(child.deaths)} times in a minute: stopping all."
                )
                return False
            pause = min(LONGEST_PAUSE_SECONDS, 0.5 * 2 ** len(child.deaths))
            self.say(f"The {child.name} process ended ({child.process.returncode}); again in {pause:g} s.")
            child.process, child.start_at = None, now + pause
        if now >= child.start_at:
            child.process = _spawn(child.command, self.env)
        return True

    @contextmanager
    def _signals(self) -> Iterator[None]:
        before = {
            number: signal.signal(number, lambda *_: self.stopping.set())
            for number in (signal.SIGINT, signal.SIGTERM)
        }
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)


def _spawn(command: Sequence[str], env: Mapping[str, str]) -> subprocess.Popen[bytes]:
    # A session of its own keeps the terminal's Ctrl-C from the children: only the supervisor ends them, in
    # order.
    return subprocess.Popen(
        command, env=env, stdin=subprocess.DEVNULL, start_new_session=True, preexec_fn=_end_with_parent
    )


def _end_with_parent() -> None:
    # Without this a supervisor that is killed outright would leave its children holding the port.
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(1, signal.SIGTERM)


def _signal(process: subprocess.Popen[bytes], number: int) -> None:
    with suppress(ProcessLookupError):
        os.killpg(process.pid, number)
