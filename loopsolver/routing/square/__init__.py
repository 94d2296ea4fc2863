"""Square bends: an orthogonal lattice searched exactly, then drawn up to the touch."""
