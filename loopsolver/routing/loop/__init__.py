"""The whole loop at once: one route for each run, so that all of them fit."""
