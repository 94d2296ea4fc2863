"""Look at a scene or plan before anything is heated."""
