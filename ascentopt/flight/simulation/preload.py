"""SciPy takes a third of a second to import: meanwhile a solver can be at work."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from threading import Thread


@contextmanager
def integrators_preloaded() -> Iterator[None]:
    """Import them on a thread of its own, which is over when the block is left.

    Only the import of a process's first flight is spared, and only where the block spends its time
    outside Python; imported modules are imported once, whoever comes first.
    """
    thread = Thread(target=_imported, name="import of integrators")
    thread.start()
    try:
        yield
    finally:
        thread.join()


def _imported() -> None:
    for module in ("scipy.integrate", "scipy.interpolate"):
        import_module(module)
