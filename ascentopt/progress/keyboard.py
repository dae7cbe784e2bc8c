"""The keyboard while code is at work that may lose its interrupt."""

from __future__ import annotations

import signal
import threading
from types import FrameType
from typing import Self


class HeldInterrupt:
    """Holds Ctrl-C back within a block, which looks at ``pressed`` and ends by itself.

    A library that runs for seconds outside Python asks for signals now and then, and Python's own
    handler raises there. What was called at that moment decides whether the error comes back: a
    function that is being evaluated "has failed", a shorter step is tried, and the user has pressed
    the key in vain. Where the handler is not Python's own, or this is not the main thread, nothing
    is held back.

    Attributes:
        pressed: whether the key was pressed within the block.
    """

    def __init__(self) -> None:
        self.pressed = False
        self._holds = False

    def __enter__(self) -> Self:
        main = threading.current_thread() is threading.main_thread()
        self._holds = main and signal.getsignal(signal.SIGINT) is signal.default_int_handler
        if self._holds:
            signal.signal(signal.SIGINT, self._hold)
        return self

    def __exit__(self, *error: object) -> None:
        if self._holds:
            signal.signal(signal.SIGINT, signal.default_int_handler)

    def _hold(self, signum: int, frame: FrameType | None) -> None:
        if self.pressed:  # a second time: whoever presses again will not wait
            signal.default_int_handler(signum, frame)
        self.pressed = True
