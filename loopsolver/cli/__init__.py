"""The commands. Only this package prints."""
