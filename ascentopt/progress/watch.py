"""A study under way: it tells its steps, and stops with what is finished."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from logging import INFO, Logger
from time import monotonic
from typing import Any, Generic, Self, TypeVar

from ascentopt.arguments import asked
from ascentopt.errors import InputError, Interrupted, OutOfTime
from ascentopt.progress.deadline import Deadline, TimeIsUp
from ascentopt.progress.keyboard import HeldInterrupt
from ascentopt.progress.step import Progress, Step
from ascentopt.validation import positive

T = TypeVar("T")


def _nothing() -> None:
    return None


class Watch(Generic[T]):
    """Tells steps to a callable and a logger, and turns a stop into an error that carries a result.

    A study within another one gets a watch from that one's `inside`: its steps count as what the
    outer one does, its time is the outer one's, and where it is stopped the outer one has the word.

    Args:
        study: the function that was called.
        log: where steps are told.
        progress: is given them as well; None for nobody.
        time_limit: s of the clock from now for the whole; None for no limit.

    Attributes:
        deadline: when no solve and no flight may begin any more.
        total: how many steps there will be; None where nobody knows.

    Raises:
        InputError: for what cannot be called, or a time that is not positive.
    """

    def __init__(
        self,
        study: str,
        log: Logger,
        progress: Progress[T] | None = None,
        time_limit: float | None = None,
    ) -> None:
        if progress is not None and not callable(progress):
            raise InputError(
                f"{study}: progress is {progress!r}; it must be callable with a step. Give a "
                "function of one argument, ao.ProgressBar(), or None."
            )
        if time_limit is not None:
            fix = "Give seconds of the clock, or None for no limit."
            positive(study, "time_limit", time_limit, "s", fix)
        self._keyboard = HeldInterrupt()
        self.deadline = Deadline.after(time_limit, self._keyboard)
        self.total: int | None = None
        self._study, self._log, self._progress = study, log, progress
        self._time_limit, self._begun = time_limit, monotonic()
        self._outer: Watch[Any] | None = None
        self._done, self._telling = 0, False
        self._finished: Callable[[], T | None] = _nothing

    def inside(self, study: str, log: Logger) -> Watch[Any]:
        """A watch for a study within this one."""
        inner: Watch[Any] = Watch(study, log, self._pass_on)
        inner.deadline, inner._outer = self.deadline, self
        return inner

    def so_far(self) -> T | None:
        """What is finished; None where nothing is."""
        return self._finished()

    def begins(self, doing: str) -> None:
        """Tell what is begun."""
        self._tell(doing)

    def finishes(self, doing: str) -> None:
        """Count a step, and tell what it came to."""
        self._done += 1
        self._tell(doing)

    @contextmanager
    def carrying(self, what: str, finished: Callable[[], T | None]) -> Iterator[Self]:
        """Do the work: whatever stops it carries what is ``finished``, which is called ``what``.

        Raises:
            Interrupted: by the keyboard.
            OutOfTime: when the time is up.
        """
        self._finished = finished
        try:
            with self._keyboard:
                yield self
            if self._outer is None and self._keyboard.pressed:  # too late for anything to look
                raise KeyboardInterrupt
        except (KeyboardInterrupt, TimeIsUp) as stop:
            self._end("stopped")
            if self._outer is not None:
                raise
            raise self._stopped(stop, what) from stop
        except BaseException:
            self._end("ended by an error")
            raise
        self._end("done")

    def _stopped(self, stop: BaseException, what: str) -> Interrupted | OutOfTime:
        best = self._finished()
        kept = f"no {what} is finished" if best is None else f"`best` is the {what} so far"
        if isinstance(stop, TimeIsUp):
            allowed = "" if self._time_limit is None else f" ({self._time_limit:g} s)"
            return OutOfTime(f"{self._study}: the time allowed{allowed} is up; {kept}.", best=best)
        after = f"interrupted after {monotonic() - self._begun:.1f} s"
        return Interrupted(f"{self._study}: {after}; {kept}.", best=best)

    def _end(self, doing: str) -> None:
        """Tell that it is over, unless whom it would be told has just failed himself."""
        if self._outer is None and not self._telling:
            self._hand_on(doing, over=True)

    def _tell(self, doing: str) -> None:
        if self._log.isEnabledFor(INFO):
            self._log.info("%s: %s (%.1f s)", self._study, doing, monotonic() - self._begun)
        self._hand_on(doing)

    def _pass_on(self, step: Step[Any]) -> None:
        """A step of a study within this one, which that one's log has told."""
        self._hand_on(f"{step.study}: {step.doing}")

    def _hand_on(self, doing: str, *, over: bool = False) -> None:
        if self._progress is None:
            return
        step = Step(
            study=self._study,
            doing=doing,
            done=self._done,
            total=self.total,
            seconds=monotonic() - self._begun,
            over=over,
            finished=self._finished,
        )
        self._telling = True
        asked(self._study, "progress", self._progress, step)
        self._telling = False
