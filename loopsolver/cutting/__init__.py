"""Stock tubes, and which piece is cut from which. Knows no sheet."""
