"""Small quadratic programmes, solved as least-distance problems."""

from __future__ import annotations

import numpy as np

from loopsolver.geometry.vectors import Array
from loopsolver.tolerances import NO_RESIDUAL


def least_of_quadratic(
    stiffness: Array, slope: Array, limits: Array, least: Array
) -> Array | None:
    """Return the x that makes a separable quadratic least within limits, or None.

    Minimises ``sum(stiffness * x**2) / 2 + slope . x`` with ``limits @ x >= least``.
    Stretching x by the square root of its stiffness and moving the origin to the free
    minimum leaves the point of a polyhedron that is nearest to the origin; its multipliers
    are a non-negative least-squares problem.

    Parameters
    ----------
    stiffness : array (n,)
        All above zero.
    slope : array (n,)
    limits : array (m, n)
    least : array (m,)

    Returns
    -------
    array (n,), or None where the limits exclude each other

    References
    ----------
    Lawson and Hanson, Solving Least Squares Problems (1974; SIAM 1995), chapter 23:
    problem LDP and its solution by NNLS, which is on page 161.
    """
    from scipy.optimize import nnls

    root = np.sqrt(stiffness)
    stretched = limits / root
    wanted = least + limits @ (slope / stiffness)
    matrix = np.vstack([stretched.T, wanted])
    target = np.zeros(len(root) + 1)
    target[-1] = 1.0
    try:
        multipliers, _ = nnls(matrix, target, maxiter=20 * len(least))
    except RuntimeError:
        return None
    residual = matrix @ multipliers - target
    if not abs(residual[-1]) > NO_RESIDUAL:
        return None
    nearest = -residual[:-1] / residual[-1]
    answer: Array = (nearest - slope / root) / root
    return answer
