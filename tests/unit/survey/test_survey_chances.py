"""Limits and chances against scipy's distributions."""

import numpy as np
import pytest
from scipy import stats

from loopsolver.survey.chances import ALIKE, CRITICAL, LEAST_SEEN, chi_square_beyond


def test_limits() -> None:
    """Textbook: two-sided 0.1 % is 3.2905, with 80 % power 4.132."""
    assert pytest.approx(stats.norm.ppf(1.0 - 0.0005), abs=1e-6) == CRITICAL
    seen = stats.norm.ppf(1.0 - 0.0005) + stats.norm.ppf(0.8)
    assert pytest.approx(seen, abs=1e-6) == LEAST_SEEN
    assert round(LEAST_SEEN, 3) == 4.132
    assert pytest.approx(stats.chi2.ppf(0.95, 1), abs=1e-6) == ALIKE


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 7, 20, 51, 200])
def test_chances_of_sums_of_squares(freedom: int) -> None:
    for misfit in np.linspace(0.01, 3.0, 12) * freedom:
        expected = stats.chi2.sf(misfit, freedom)
        found = chi_square_beyond(misfit, freedom)
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-300)


def test_nothing_to_spare_and_no_misfit_are_no_surprise() -> None:
    assert chi_square_beyond(0.0, 3) == 1.0
    assert chi_square_beyond(0.0, 0) == 1.0
