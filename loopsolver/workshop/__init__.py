"""What goes to the bench: templates, wrap strips, bench sheets, the cut plan."""
