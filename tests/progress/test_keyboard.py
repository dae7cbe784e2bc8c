"""Ctrl-C is held back from code that would lose it, and from nobody else."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from types import FrameType

import pytest

from ascentopt.progress.keyboard import HeldInterrupt


@pytest.fixture(autouse=True)
def handler() -> Iterator[None]:
    """Python's own, whoever started the tests, and afterwards what was there before."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def test_the_key_is_remembered_and_the_handler_put_back() -> None:
    with HeldInterrupt() as keyboard:
        assert not keyboard.pressed
        signal.raise_signal(signal.SIGINT)
        assert keyboard.pressed
    with pytest.raises(KeyboardInterrupt):
        signal.raise_signal(signal.SIGINT)


def test_who_presses_twice_will_not_wait() -> None:
    with HeldInterrupt():
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)


def test_the_handler_is_put_back_after_an_error() -> None:
    with pytest.raises(ZeroDivisionError), HeldInterrupt():
        print(1 / 0)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_handler_of_ones_own_is_left_alone() -> None:
    heard: list[int] = []

    def own(signum: int, _: FrameType | None) -> None:
        heard.append(signum)

    signal.signal(signal.SIGINT, own)
    with HeldInterrupt() as keyboard:
        signal.raise_signal(signal.SIGINT)
        assert not keyboard.pressed
    assert heard == [signal.SIGINT]
    assert signal.getsignal(signal.SIGINT) is own


def test_other_threads_have_no_key_to_hold() -> None:
    """Python lets none but the main thread set a handler."""
    done: list[bool] = []

    def work() -> None:
        with HeldInterrupt() as keyboard:
            done.append(keyboard.pressed)

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert done == [False]
