"""How tubes and parts go together: how a tube gets in, what must be loose, which order."""
