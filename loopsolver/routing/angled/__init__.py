"""Bends of other angles: from a list, or of any angle.

Notes
-----
With angles from a list, which vertices there may be follows from the two ports; what is
shown is the best found: partial routes from both ends, closed by two bends and then
shortened. With
"any" nothing is proven but the tubes of no bend and of one, which the ports settle.
"""
