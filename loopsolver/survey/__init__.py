"""Readings between named points: where everything stands, how surely, what disagrees."""
