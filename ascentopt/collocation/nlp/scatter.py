"""Sparse matrices put together from numbers that many small functions deliver."""

from __future__ import annotations

from dataclasses import dataclass

import casadi as ca
import numpy as np

from ascentopt.typing import Expr


@dataclass(frozen=True, eq=False)
class Entries:
    """Where numbers go in a matrix, and the factor each is multiplied by; all of one length."""

    rows: np.ndarray
    columns: np.ndarray
    factors: np.ndarray

    @classmethod
    def none(cls) -> Entries:
        """No entry at all."""
        return cls(np.zeros(0, dtype=int), np.zeros(0, dtype=int), np.zeros(0))

    @classmethod
    def joined(cls, parts: list[Entries]) -> Entries:
        """All entries of ``parts``, in their order."""
        return cls(
            np.concatenate([part.rows for part in parts]).astype(int),
            np.concatenate([part.columns for part in parts]).astype(int),
            np.concatenate([part.factors for part in parts]).astype(float),
        )

    def upper(self) -> Entries:
        """The same symmetric matrix with every entry mirrored into its upper triangle."""
        low, high = np.minimum(self.rows, self.columns), np.maximum(self.rows, self.columns)
        return Entries(low, high, self.factors)


def scatter(shape: tuple[int, int], entries: Entries, numbers: Expr, constant: Entries) -> Expr:
    """Matrix with ``numbers`` and the ``constant`` factors added up at their places."""
    every = Entries.joined([entries, constant])
    keys = every.columns * shape[0] + every.rows
    places, slot = _distinct(keys)
    sparsity = _sparsity(shape, places)
    count = len(entries.rows)
    fixed = np.bincount(slot[count:], weights=constant.factors, minlength=len(places))
    moved = sparse((len(places), count), Entries(slot[:count], np.arange(count), entries.factors))
    return ca.MX(sparsity, ca.mtimes(moved, numbers) + ca.DM(fixed.tolist()))


def _distinct(keys: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Sorted distinct keys, and which of them each key is; NumPy's own loads its masked arrays."""
    order = np.argsort(keys, kind="stable")
    new = np.diff(keys[order], prepend=-1) != 0
    slot = np.empty(len(keys), dtype=int)
    slot[order] = np.cumsum(new) - 1
    return keys[order][new], slot


def sparse(shape: tuple[int, int], entries: Entries) -> ca.DM:
    """Numeric sparse matrix of entries that fall on distinct places."""
    keys = entries.columns * shape[0] + entries.rows
    order = np.argsort(keys, kind="stable")
    return ca.DM(_sparsity(shape, keys[order]), entries.factors[order].tolist())


def _sparsity(shape: tuple[int, int], places: np.ndarray) -> ca.Sparsity:
    """Pattern from sorted distinct keys ``column * rows + row``."""
    columns, rows = np.divmod(places, max(shape[0], 1))
    starts = np.searchsorted(columns, np.arange(shape[1] + 1))
    return ca.Sparsity(shape[0], shape[1], starts.tolist(), rows.tolist())
