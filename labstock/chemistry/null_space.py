"""Homogeneous linear systems, solved exactly in rational numbers."""

from collections.abc import Sequence
from fractions import Fraction
from math import gcd, lcm

Vector = tuple[Fraction, ...]


def null_space(matrix: list[list[Fraction]]) -> list[Vector]:
    """Solve the homogeneous system exactly.

    Parameters
    ----------
    matrix : list of list of Fraction
        Rows of equal length [-].

    Returns
    -------
    list of tuple of Fraction
        A basis, one vector for each column that is free [-].

    Notes
    -----
    Source: Gauss and Jordan's elimination in rational numbers.

    Examples
    --------
    >>> null_space([[Fraction(1), Fraction(-2)]])
    [(Fraction(2, 1), Fraction(1, 1))]
    """
    width = len(matrix[0])
    rows, pivots = _reduced([row[:] for row in matrix], width)
    basis = []
    for free in (column for column in range(width) if column not in pivots):
        vector = [Fraction(0)] * width
        vector[free] = Fraction(1)
        for row, pivot in zip(rows, pivots, strict=False):
            vector[pivot] = -row[free]
        basis.append(tuple(vector))
    return basis


def _reduced(rows: list[list[Fraction]], width: int) -> tuple[list[list[Fraction]], list[int]]:
    pivots: list[int] = []
    for column in range(width):
        found = next((i for i in range(len(pivots), len(rows)) if rows[i][column]), None)
        if found is None:
            continue
        at = len(pivots)
        rows[at], rows[found] = rows[found], rows[at]
        rows[at] = [value / rows[at][column] for value in rows[at]]
        for i, row in enumerate(rows):
            if i != at and row[column]:
                rows[i] = [a - row[column] * b for a, b in zip(row, rows[at], strict=True)]
        pivots.append(column)
    return rows, pivots


def whole(vector: Sequence[Fraction]) -> tuple[int, ...]:
    """Scale a vector to the smallest whole numbers.

    Parameters
    ----------
    vector : sequence of Fraction
        The vector, not all zero [-].

    Returns
    -------
    tuple of int
        A multiple of it without a common divisor [-].

    Notes
    -----
    Source: arithmetic.

    Examples
    --------
    >>> whole([Fraction(1, 2), Fraction(3)])
    (1, 6)
    """
    times = lcm(*(value.denominator for value in vector))
    numbers = [int(value * times) for value in vector]
    divisor = gcd(*numbers)
    return tuple(number // divisor for number in numbers)
