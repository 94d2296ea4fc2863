"""The search: from one run as a problem to the candidates worth bending."""
