"""Lengths that the trade has a word for, from those that the program reckons with."""

from loopsolver.tube.setting_out import offset_advance, offset_travel


def shrink(set_off: float, angle: float) -> float:
    """By how much an offset's path from vertex to vertex exceeds its advance."""
    return offset_travel(set_off, angle) - offset_advance(set_off, angle)
