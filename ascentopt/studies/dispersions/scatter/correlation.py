"""Numbers that scatter together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion, NumberDispersion
from ascentopt.typing import Floats
from ascentopt.validation import require

_LEAST = 1e-6
"""Least eigenvalue of a matrix of correlations: below it one number follows from others to a part
in a thousand, and should not be given beside them."""


@checked
@dataclass(frozen=True)
class Correlation:
    """Two numbers that scatter together; the wind is correlated in itself, by its length.

    Args:
        one, other: what scatters, as it is given to `disperse`.
        coefficient: of their scores, between -1 and 1; of two normal distributions it is the
            correlation itself, of others the rank correlation is (6/pi) asin(coefficient/2).

    Raises:
        InputError: for a coefficient that is none, or one number twice.
    """

    one: NumberDispersion
    other: NumberDispersion
    coefficient: float

    def __post_init__(self) -> None:
        fix = "Leave out what follows from another number: it is no dispersion of its own."
        good = -1.0 < self.coefficient < 1.0
        require("Correlation", "coefficient", self.coefficient, "", "above -1 and below 1", fix,
                holds=good)  # fmt: skip
        if self.one.name == self.other.name:
            raise InputError(
                f"Correlation: one and other are both {self.one.name!r}; they must differ. Give "
                "two numbers that scatter."
            )


def correlation_factor(
    dispersions: Sequence[Dispersion], correlations: Sequence[Correlation]
) -> Floats:
    """(n, n) lower factor of the matrix of correlations of the numbers among the dispersions.

    Raises:
        InputError: for a number that does not scatter, a pair told twice, or a matrix that is not
            positive definite.
    """
    numbers = [one for one in dispersions if isinstance(one, NumberDispersion)]
    names = [one.name for one in numbers]
    matrix, told = np.eye(len(names)), set()
    for one in correlations:
        row, column = (_place(side, numbers) for side in (one.one, one.other))
        if (row, column) in told:
            raise InputError(
                f"disperse: correlations hold {names[row]!r} and {names[column]!r} twice; a pair "
                "has one coefficient. Leave one out."
            )
        told |= {(row, column), (column, row)}
        matrix[row, column] = matrix[column, row] = one.coefficient
    if not told:
        return matrix
    _check_definite(matrix, names)
    return np.asarray(np.linalg.cholesky(matrix))


def _place(side: NumberDispersion, numbers: list[NumberDispersion]) -> int:
    if side not in numbers:
        raise InputError(
            f"disperse: correlations name {side.name!r}, {side.by}; it must be among the "
            f"dispersions, {', '.join(f'{one.name!r}, {one.by}' for one in numbers) or 'none'}. "
            "Give it as one of them as well, with the same distribution."
        )
    return numbers.index(side)


def _check_definite(matrix: Floats, names: list[str]) -> None:
    values, vectors = np.linalg.eigh(matrix)
    if values[0] >= _LEAST:
        return
    # Whoever takes part in the combination that would scatter by less than nothing.
    weights = np.abs(vectors[:, 0])
    own = [name for name, weight in zip(names, weights, strict=True) if weight > 1e-3]
    raise InputError(
        f"disperse: the correlations of {', '.join(map(repr, own))} make a matrix whose least "
        f"eigenvalue is {values[0]:.3g}; it must be positive definite, with {_LEAST:g} or more: no "
        "numbers scatter together like that. Take coefficients that were measured together, or "
        "nearer to zero."
    )
