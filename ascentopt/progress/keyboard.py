"""The keyboard while code is at work that may lose its interrupt."""

from __future__ import annotations

import signal
import threading
from types import FrameType
from typing import Self


class HeldInterrupt:
    """Holds Ctrl-C back within a block, which looks at ``pressed`` and ends by itself.

    Python's own handler raises wherever it happens to be: also within a library's conversions and
    callbacks, where the error is cleared, or comes out as another one, and the user has pressed the
    key in vain. Pressed twice it raises all the same. Where the handler is not Python's own, or
    this is not the main thread, nothing is held back; a block within another one looks at its key.
    """

    def __init__(self) -> None:
        self._pressed = False
        self._holds = False
        self._outer: HeldInterrupt | None = None

    @property
    def pressed(self) -> bool:
        """Whether the key was pressed within the block, or one that it is in."""
        return self._pressed or (self._outer is not None and self._outer.pressed)

    def __enter__(self) -> Self:
        main = threading.current_thread() is threading.main_thread()
        handler = signal.getsignal(signal.SIGINT) if main else None
        self._holds = handler is signal.default_int_handler
        outer = getattr(handler, "__self__", None)
        self._outer = outer if isinstance(outer, HeldInterrupt) else None
        if self._holds:
            signal.signal(signal.SIGINT, self._hold)
        return self

    def __exit__(self, *error: object) -> None:
        if self._holds:
            signal.signal(signal.SIGINT, signal.default_int_handler)

    def _hold(self, signum: int, frame: FrameType | None) -> None:
        if self._pressed:  # a second time: whoever presses again will not wait
            signal.default_int_handler(signum, frame)
        self._pressed = True
