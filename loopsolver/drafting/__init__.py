"""Drawings in true millimetres, on pages and in files. Knows no tube."""
