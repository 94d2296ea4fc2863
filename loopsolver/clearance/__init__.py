"""May a tube be here, and what is nearest to it."""
