"""The end gauge of the GUM, H.1, as printed in MSLNZ/GTC, docs/API/GUM_H1.rst.

A gauge is compared with a standard of 50 000 623 nm: 215 nm longer; the two corrections
for heat are nothing, but uncertain. As a chain of lengths nobody checks: half-widths of
even distributions count over the root of 3. Values in nanometres.
"""

import itertools
import math

import pytest

from loopsolver.survey.adjustment import adjust
from loopsolver.survey.reliability import judged
from tests.builders.networks import levels, rise

STANDARD = 50_000_623.0
EXPANSION = 11.5e-6

COMPARED = {  # what is printed beside each: 5.8, 3.9 and 6.7
    "repeated": 5.8,
    "random": 3.9,
    "systematic": 6.7,
}
HEAT = {  # printed: 2.887 and 16.599
    "expansion": STANDARD * 0.1 * 1e-6 / math.sqrt(3.0),
    "temperature": STANDARD * EXPANSION * 0.05 / math.sqrt(3.0),
}


def test_spread_of_a_chain_of_six_lengths() -> None:
    """Printed: 50 000 838 nm with u = 32 nm; GTC 1.5.1 computes 31.664."""
    parts = {"standard": 25.0, **COMPARED, **HEAT}
    lengths = {"standard": STANDARD, "repeated": 215.0}
    names = ["datum", *parts]
    chain = [
        rise(start, goal, lengths.get(goal, 0.0), spread=parts[goal])
        for start, goal in itertools.pairwise(names)
    ]
    found = adjust(levels(parts, *chain))
    assert found.position("temperature")[2] == pytest.approx(50_000_838.0, abs=1e-3)
    spread = math.sqrt(found.position_covariance("temperature")[2, 2])
    assert spread == pytest.approx(31.664, abs=5e-4)
    assert found.freedom == 0
    assert judged(found).suspicions == ()


def test_parts_of_the_spread() -> None:
    """Printed: 2.887 nm from the expansion and 16.599 nm from the temperature."""
    assert HEAT["expansion"] == pytest.approx(2.887, abs=5e-4)
    assert HEAT["temperature"] == pytest.approx(16.599, abs=5e-4)
