"""Facts to sentences and table rows, in the scene's unit: for cli, view and workshop."""
