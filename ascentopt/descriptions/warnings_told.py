"""Warnings of unusual values, told with the place in the file."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from ascentopt.errors import UnusualInputWarning


@contextmanager
def warnings_told(telling: Callable[[str], str], stacklevel: int = 1) -> Iterator[None]:
    """Let warnings of unusual values through in other words; all others as they are.

    Args:
        telling: the other words.
        stacklevel: as `warnings.warn` counts from where the context is entered.
    """
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", UnusualInputWarning)
        yield
    for one in caught:
        if issubclass(one.category, UnusualInputWarning):
            text = telling(str(one.message))
            # This function, and the context manager around it.
            warnings.warn(text, one.category, stacklevel=stacklevel + 2)
        else:
            warnings.warn_explicit(one.message, one.category, one.filename, one.lineno)
