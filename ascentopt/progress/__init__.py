"""Long work shows itself, and stops when it is told to: one contract for every study.

Each function that may take more than a few seconds takes two keywords:

- ``progress``: a callable that is given a `Step` whenever one is begun or finished. What is
  finished by then is its ``so_far``, made when it is asked for: a map's caller saves it there.
- ``time_limit``: seconds of the clock for the whole. Once they are up `OutOfTime` is raised.

Ctrl-C raises `Interrupted`. Both exceptions carry in ``best`` what ``so_far`` would have been. The
same steps are told to the loggers below ``ascentopt`` of the standard library's `logging`, at level
INFO; at DEBUG these tell of every solve. A `Watch` is what a study does all of this by.
"""

from ascentopt.progress.deadline import Deadline, TimeIsUp
from ascentopt.progress.progress_bar import ProgressBar
from ascentopt.progress.side_by_side import finished_in_time
from ascentopt.progress.step import Progress, Step
from ascentopt.progress.watch import Watch

__all__ = ["Deadline", "Progress", "ProgressBar", "Step", "TimeIsUp", "Watch", "finished_in_time"]
