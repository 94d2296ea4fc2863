"""Jigs to print in 3D: cradles, a chamfer stop, a stand for templates, and formers."""
