"""Quadratic programmes against scipy's SLSQP and the conditions of Karush, Kuhn, Tucker."""

import numpy as np
import pytest
from scipy.optimize import minimize

from loopsolver.routing.angled.quadratic import least_of_quadratic
from tests.unit.routing.touching import Array


def programme(seed: int) -> tuple[Array, Array, Array, Array]:
    rng = np.random.default_rng(seed)
    n, m = int(rng.integers(2, 9)), int(rng.integers(1, 25))
    limits = rng.normal(size=(m, n))
    inside = rng.normal(size=n)
    least = limits @ inside - rng.exponential(0.5, m) * (rng.random(m) < 0.7)
    return rng.uniform(0.05, 3.0, n), rng.normal(0.0, 3.0, n), limits, least


@pytest.mark.parametrize("seed", range(40))
def test_value_and_limits_against_slsqp(seed: int) -> None:
    stiffness, slope, limits, least = programme(seed)

    def value(x: Array) -> float:
        return float((stiffness * x * x).sum() / 2.0 + slope @ x)

    x = least_of_quadratic(stiffness, slope, limits, least)
    assert x is not None
    assert (limits @ x - least).min() > -1e-8
    other = minimize(
        value,
        np.zeros(len(slope)),
        jac=lambda x: stiffness * x + slope,
        constraints={
            "type": "ineq",
            "fun": lambda x: limits @ x - least,
            "jac": lambda _: limits,
        },
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-12},
    )
    assert other.success
    assert value(x) == pytest.approx(other.fun, abs=1e-6 * (1 + abs(other.fun)))


@pytest.mark.parametrize("seed", range(40, 60))
def test_the_slope_is_held_by_touching_limits_alone(seed: int) -> None:
    stiffness, slope, limits, least = programme(seed)
    x = least_of_quadratic(stiffness, slope, limits, least)
    assert x is not None
    touching = limits[limits @ x - least < 1e-7]
    gradient = stiffness * x + slope
    if not len(touching):
        assert np.abs(gradient).max() < 1e-8
        return
    # gradient = touching.T @ multipliers with none of these below zero
    from scipy.optimize import nnls

    _, left = nnls(touching.T, gradient)
    assert left < 1e-6 * (1.0 + np.linalg.norm(gradient))


def test_without_a_limit_that_matters_it_is_the_free_least() -> None:
    stiffness, slope = np.array([2.0, 4.0]), np.array([-6.0, 8.0])
    x = least_of_quadratic(stiffness, slope, np.array([[1.0, 0.0]]), np.array([-100.0]))
    assert x == pytest.approx([3.0, -2.0])


def test_limits_that_exclude_each_other() -> None:
    limits = np.array([[1.0, 0.0], [-1.0, 0.0]])
    least = np.array([1.0, 1.0])
    assert least_of_quadratic(np.ones(2), np.zeros(2), limits, least) is None
