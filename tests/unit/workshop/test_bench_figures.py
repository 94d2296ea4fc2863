"""Figures of one tube for its sheet, against the tube as it was written down."""

from __future__ import annotations

from dataclasses import replace

import pytest

from loopsolver.workshop.bench_figures import (
    fahrenheit,
    has_turns,
    heated_marks,
    job_doubts,
    job_marks,
    plane_of,
)
from tests.builders.small_build import FLAT, STRAIGHT, UP, job_through


@pytest.mark.parametrize(
    # The freezing and the boiling point of water, and where both scales meet.
    ("celsius", "degrees_f"),
    [(0.0, 32.0), (100.0, 212.0), (-40.0, -40.0), (37.0, 98.6)],
)
def test_both_scales(celsius: float, degrees_f: float) -> None:
    assert fahrenheit(celsius) == pytest.approx(degrees_f)


def test_planes_are_counted_along_the_tube() -> None:
    """Up, right, back: two planes. An offset lies in one."""
    assert [plane_of(job_through(UP), number) for number in (1, 2)] == [1, 2]
    assert [plane_of(job_through(FLAT), number) for number in (1, 2)] == [1, 1]


def test_a_tube_is_turned_for_an_offset_and_for_a_new_plane_and_not_for_a_hoop() -> (
    None
):
    hoop = ((60.0, 60.0, 60.0), (60.0, 60.0, 200.0), (160.0, 60.0, 200.0))
    assert has_turns(job_through(UP))
    assert has_turns(job_through(FLAT))
    assert not has_turns(job_through((*hoop, (160.0, 60.0, 60.0))))
    assert not has_turns(job_through(hoop))
    assert not has_turns(job_through(STRAIGHT))


def test_only_what_is_bent_hot_is_heated() -> None:
    hot, cold = job_through(UP), job_through(UP, material="copper")
    assert heated_marks(hot) == job_marks(hot)
    assert len(job_marks(cold)) == 2
    assert heated_marks(cold) == ()


def test_heat_that_reaches_into_a_fitting_is_seen_from_both_ends() -> None:
    """A straight of 20 mm at either end in turn, of which the fitting grips 12.

    Heat reaches a tube's diameter of 14 mm beyond the bend: 6 mm stay cold.
    """
    near = ((0.0, 0.0, 0.0), (48.0, 0.0, 0.0), (48.0, 150.0, 0.0))
    for line, end in ((near, 0), (near[::-1], 1)):
        job = job_through(line)
        told = [one for one in job_doubts(job) if one.kind == "heat in fitting"]
        assert [(one.end, one.length) for one in told] == [  # type: ignore[union-attr]
            (end, pytest.approx(6.0))
        ]
        held = replace(job, first=replace(job.first, fitting=None))
        held = replace(held, last=replace(job.last, fitting=None))
        assert all(one.kind != "heat in fitting" for one in job_doubts(held))
