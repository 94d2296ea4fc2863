"""The search: from one run as a problem to the candidates worth bending.

From the bottom up: `effort` says how hard is tried; `problem` states one run and `judge`
checks an answer to it; `control` says when to stop and who is told; `square` searches an
orthogonal lattice; `angled` lays out bends of other angles and shortens them;
`candidates` gathers and ranks both; `diagnosis` says why there is none; `solve` goes from
a scene to the candidates of one of its runs; `loop` chooses for all runs at once.

Notes
-----
Proven: with bends of 90 degrees between ports that line up, the fewest bends there can
be and the least length for each number of them, on the lattice and then drawn up to the
touch. That two ports are joined by a straight tube, or by one bend, or by neither.
Best found: bends of other angles from a list, of which the closures of partial routes from
both ends are all laid out, but only the most promising are shortened; and bends of any
angle, which start from such closures, from places spread through the case and from square
routes bent back. A better one may exist. What is shown has in every case passed the judge.
"""
