"""Level networks with their printed adjustments.

1. Z. Siki, OSGeoLabBp/tutorials, english/data_processing/level_net.rst: four points,
   point 4 held; height differences [m] and lengths of their lines [km], 0.7 mm a km.
2. A. Cepek and others, one-dimensional adjustment with GNU Gama, as printed at
   vrmapper.com/gama/1doutput.html: four points, eight differences, 5 mm each.
"""

import numpy as np
import pytest

from loopsolver.survey.adjustment import adjust
from loopsolver.survey.network import Network
from loopsolver.survey.reliability import checks
from tests.builders.networks import datum, height, rise

SIKI = adjust(
    Network(
        stations=(
            datum("4", 101_345.0),
            height("1", 104_234.0),
            height("2", 103_487.0),
            height("3", 102_958.0),
        ),
        observations=tuple(
            rise(start, goal, 1000.0 * metres, spread=0.7 * kilometres)
            for start, goal, metres, kilometres in [
                ("1", "2", -0.749, 1.1),
                ("1", "3", -1.274, 1.8),
                ("1", "4", -2.890, 1.4),
                ("2", "3", -0.530, 1.5),
                ("2", "4", -2.141, 1.9),
                ("3", "4", -1.614, 0.9),
            ]
        ),
    )
)

GAMA = adjust(
    Network(
        stations=(
            datum("1a", 1_000_000.0),
            *(height(name, 999_000.0) for name in "234"),
        ),
        observations=tuple(
            rise(start, goal, 1000.0 * metres, spread=5.0)
            for start, goal, metres in [
                ("1a", "4", -1.225),
                ("4", "3", -0.848),
                ("3", "2", 1.342),
                ("2", "1a", 0.720),
                ("1a", "2", -0.724),
                ("2", "3", -1.335),
                ("3", "4", 0.842),
                ("4", "1a", 1.231),
            ]
        ),
    )
)


def test_heights_and_steps_of_siki() -> None:
    """Heights to 0.1 mm, and the step from the start to 0.0001 mm."""
    heights = [SIKI.position(name)[2] for name in "123"]
    assert np.round(heights, 1).tolist() == [104_235.0, 103_486.8, 102_958.8]
    steps = np.subtract(heights, [104_234.0, 103_487.0, 102_958.0])
    assert np.round(steps, 4).tolist() == [0.9969, -0.1919, 0.8200]


def test_spreads_of_siki() -> None:
    """Printed with the scatter found, m0 1.65, of v'Pv 8.217."""
    assert SIKI.freedom == 3
    assert round(SIKI.misfit, 3) == 8.217
    assert round(SIKI.scatter, 2) == 1.65
    spreads = [
        SIKI.scatter * SIKI.position_covariance(name)[2, 2] ** 0.5 for name in "123"
    ]
    assert np.round(spreads, 2).tolist() == [1.13, 1.19, 0.91]


def test_residuals_and_reliability_of_siki() -> None:
    """Columns v, w, r, and t: w over m0."""
    told = checks(SIKI)
    residuals = [round(one.residual, 2) for one in told]
    assert residuals == [0.81, -2.18, 0.00, 2.01, -0.81, 0.18]
    scores = [one.score for one in told]
    assert np.round(scores, 1).tolist() == [1.9, 2.1, 0.0, 2.6, 0.7, 0.6]
    scaled = np.divide(scores, SIKI.scatter)
    assert np.round(scaled, 1).tolist() == [1.1, 1.3, 0.0, 1.6, 0.4, 0.4]
    shares = [one.redundancy for one in told]
    assert np.round(shares, 1).tolist() == [0.3, 0.7, 0.5, 0.5, 0.7, 0.2]
    assert sum(shares) == pytest.approx(3.0, abs=1e-9)


def test_heights_of_gama() -> None:
    """Printed: 998.77513, 997.93325, 999.27487 m for 4, 3 and 2.

    The first and the last end in 125 and 875 tenths of a micrometre more: halves, which
    the source rounds up and down.
    """
    heights = [GAMA.position(name)[2] for name in "432"]
    assert heights == pytest.approx([998_775.13, 997_933.25, 999_274.87], abs=0.00501)


def test_scatter_and_worst_reading_of_gama() -> None:
    """Printed: pvv 146.625 mm2, m0' 5.42, spreads 3.1, 3.5, 3.1 mm, worst 1.68 at 6."""
    assert round(25.0 * GAMA.misfit, 3) == 146.625
    assert round(5.0 * GAMA.scatter, 2) == 5.42
    spreads = [GAMA.position_covariance(name)[2, 2] ** 0.5 for name in "432"]
    assert np.round(spreads, 1).tolist() == [3.1, 3.5, 3.1]
    scores = [one.score for one in checks(GAMA)]
    assert int(np.argmax(scores)) == 5
    assert round(max(scores), 2) == 1.68
