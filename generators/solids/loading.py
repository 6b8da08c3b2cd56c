"""Loading of large libraries, which must not be broken off in the middle."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def unstopped() -> Iterator[None]:
    """Let a signal that stops the command wait until the block is done.

    An exception in the middle of loading leaves the kernel's modules half made, and the interpreter
    in danger of a segmentation fault; other libraries swallow it, whatever it is.
    """
    came: list[int] = []
    before: dict[int, Any] = {}
    if threading.current_thread() is threading.main_thread():
        for number in (signal.SIGINT, signal.SIGTERM, getattr(signal, "SIGHUP", signal.SIGTERM)):
            if callable(signal.getsignal(number)) and number not in before:
                before[number] = signal.signal(number, lambda number, _: came.append(number))
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
        if came:
            signal.raise_signal(came[0])
