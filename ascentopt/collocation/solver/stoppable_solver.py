"""IPOPT, which ends with its last iterate where the user presses Ctrl-C."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import casadi as ca

from ascentopt.progress.keyboard import HeldInterrupt
from ascentopt.typing import Expr

EVERY = 4
"""Iterations after which it looks: each takes 5 to 80 ms, and a look 0.1 ms and more."""


class StoppableSolver:
    """A solver that looks every few iterations whether it is to stop.

    CasADi asks for signals itself, but what Python's handler raises in its midst does not always
    come back: see `progress/keyboard.py`.

    Args:
        values: f and g of the program's x and p.
        options: CasADi's.
    """

    def __init__(self, values: ca.Function, options: dict[str, Any]) -> None:
        self._stop = _Stop(values)
        options = {**options, "iteration_callback": self._stop, "iteration_callback_step": EVERY}
        self._solver = ca.nlpsol("nlp_solver", "ipopt", values, options)

    def run(self, arguments: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any], bool]:
        """What it comes to, its statistics, and whether the user has stopped it."""
        with HeldInterrupt() as keyboard:
            self._stop.keyboard = keyboard
            result = self._solver(**arguments)
        return result, self._solver.stats(), keyboard.pressed


class _Stop(ca.Callback):
    """Is asked every few iterations; anything but zero ends the solve."""

    def __init__(self, values: ca.Function) -> None:
        ca.Callback.__init__(self)
        self.keyboard = HeldInterrupt()
        x, g, p = values.size1_in("x"), values.size1_out("g"), values.size1_in("p")
        self._rows = {"x": x, "lam_x": x, "g": g, "lam_g": g, "f": 1, "lam_p": p}
        self.construct("stop", {})

    def get_n_in(self) -> int:
        return int(ca.nlpsol_n_out())

    def get_n_out(self) -> int:
        return 1

    def get_name_in(self, index: int) -> str:
        return str(ca.nlpsol_out(index))

    def get_sparsity_in(self, index: int) -> Any:
        return ca.Sparsity.dense(self._rows[ca.nlpsol_out(index)], 1)

    def eval(self, iterate: Sequence[Expr]) -> list[int]:
        return [int(self.keyboard.pressed)]
