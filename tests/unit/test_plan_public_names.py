"""The names that ``import loopsolver`` gives."""

from __future__ import annotations

import loopsolver
import loopsolver.errors
from loopsolver.plan import Plan
from loopsolver.report.planning import route_scene
from loopsolver.scene.reader import load_scene


def test_every_public_name_is_there() -> None:
    for name in loopsolver.__all__:
        assert getattr(loopsolver, name) is not None
    assert set(loopsolver.__all__) <= set(dir(loopsolver))


def test_they_are_what_they_say() -> None:
    assert loopsolver.Plan is Plan
    assert loopsolver.route_scene is route_scene
    assert loopsolver.load_scene is load_scene


def test_every_error_is_among_them() -> None:
    errors = {
        name
        for name, value in vars(loopsolver.errors).items()
        if isinstance(value, type) and value.__module__ == "loopsolver.errors"
    }
    assert errors <= set(loopsolver.__all__)


def test_no_other_name_is() -> None:
    assert not hasattr(loopsolver, "no_such_name")
