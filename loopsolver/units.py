"""Units at the edges."""
