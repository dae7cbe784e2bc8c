"""What is written down of an arc while it is flown."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ascentopt.flight.guidance.law import Command
from ascentopt.typing import Floats

_JUMP = 1e-9
"""Of a direction or a throttle, or of what is flown: less is rounding."""


class Block(NamedTuple):
    """Samples of a stretch between two instants at which the command may jump.

    Attributes:
        times: (k,) s.
        elapsed: (k,) s into the arc, on this side of either instant.
        states: (k, 7).
        corner: whether a phase of the law has ended where it begins.
    """

    times: Floats
    elapsed: Floats
    states: Floats
    corner: bool


class Samples:
    """Grows block by block; each begins where the one before ended."""

    def __init__(self) -> None:
        self.blocks: list[Block] = []
        self._commands: list[Floats] = []

    def add(self, block: Block, commands: list[Command] | None) -> None:
        """Keep a block, with its commands where they are known by now."""
        self.blocks.append(block)
        if commands is not None:
            self._commands.append(np.array([(*told.direction, told.throttle) for told in commands]))

    @property
    def elapsed(self) -> Floats:
        """(n,) of all blocks."""
        return np.concatenate([block.elapsed for block in self.blocks])

    @property
    def states(self) -> Floats:
        """(n, 7) of all blocks."""
        return np.concatenate([block.states for block in self.blocks])

    @property
    def commands(self) -> Floats:
        """(n, 4) directions and throttle, where they were given."""
        return np.concatenate(self._commands)

    def rows(self, commands: Floats) -> Floats:
        """(k, 12) time, state, direction and throttle, from (n, 4) commands of all blocks.

        The first sample of a block repeats the last of the one before, and stays only where it
        must: where the command jumps, or a phase of the law has ended and left a corner in it, the
        instant stands twice, and whoever draws a smooth curve through the samples begins anew.
        """
        times = np.concatenate([block.times for block in self.blocks])
        rows = np.column_stack((times, self.states, commands))
        firsts = np.cumsum([len(block.times) for block in self.blocks])[:-1]
        jumps = np.abs(rows[firsts] - rows[firsts - 1]).max(axis=1, initial=0.0) > _JUMP
        corners = np.array([block.corner for block in self.blocks[1:]], dtype=bool)
        kept = np.ones(len(rows), dtype=bool)
        kept[firsts] = jumps | corners
        return rows[kept]
