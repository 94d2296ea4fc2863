"""What goes to the bench: templates, wrap strips, turn cards, bench sheets, steps."""
