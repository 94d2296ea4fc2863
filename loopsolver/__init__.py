"""loopsolver: from a measured case to rigid tubes that fit."""

__version__ = "0.1.0"
