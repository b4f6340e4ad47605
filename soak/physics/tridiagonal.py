"""Many small symmetric tridiagonal systems solved as one long one. Touches nothing but its arguments.

Profiles stand end to end with zero coupling between them, so one LAPACK call serves all members and pieces.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dptsv

Array = NDArray[np.float64]


def solve(diagonal: Array, coupling: Array, right: Array) -> Array:
    """Solve (D + E) x = b for each stacked profile, for one or more right-hand sides.

    Args:
        diagonal: main diagonals, shape (..., n).
        coupling: off-diagonals, shape (..., n); entry i couples node i with i+1; the last of each profile must be 0.
        right: right-hand sides, shape (k, ..., n).

    Returns: solutions, shape (k, ..., n).
    Raises: FloatingPointError where the matrix is not positive definite (a non-finite entry, in practice).
    Source: LAPACK dptsv (L D L^T without pivoting; valid because a diffusion matrix is symmetric positive definite).

    >>> import numpy as np
    >>> solve(np.array([[2.0, 2.0]]), np.array([[-1.0, 0.0]]), np.array([[[1.0, 1.0]]])).tolist()
    [[[1.0, 1.0]]]
    """
    _, _, x, info = dptsv(diagonal.ravel(), coupling.ravel()[:-1], right.reshape(len(right), -1).T)
    if info != 0:
        raise FloatingPointError(f"tridiagonal system is not positive definite at row {info}")
    solution: Array = x.T.reshape(right.shape)
    return solution
