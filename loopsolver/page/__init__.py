"""One HTML file of a scene or plan, for a tablet at the bench."""
