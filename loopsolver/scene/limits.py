"""What a scene's numbers may be: limits that catch slips of the pen and of the unit.

Nothing on a bench reaches them; a case of a kilometre is a case in the wrong unit.
Lengths in millimetres. Every one is named in the message of the fault it causes.
"""

from __future__ import annotations

from typing import Final

FILE_BYTES: Final = 1_000_000
"""Largest scene file [bytes]: hundreds of times a crowded build."""

CASE_LEAST: Final = 20.0
CASE_MOST: Final = 3000.0
"""Inside of a case: from smaller than any to larger than a rack."""

COORDINATE: Final = 10_000.0
"""Farthest position from the datum corner, either way."""

BODY_MOST: Final = 5000.0
"""Longest edge, diameter or height of a body or keep-out."""

MESH_BYTES: Final = 50_000_000
"""Largest mesh file, and what one may unpack to [bytes]: 500,000 triangles in most."""

MESH_TRIANGLES: Final = 500_000
"""Most triangles of a mesh: what a gigabyte of memory holds laid out for measuring."""

MESH_ELEMENTS: Final = 800_000
"""Most elements of a 3MF model: so many triangles and the corners of a closed mesh."""

STEP_SECONDS: Final = 10
"""Most processor time that a STEP file may take to be cut into triangles [s]."""

STEP_MEMORY: Final = 1 << 30
"""Most memory for that [bytes]."""

STEP_PATIENCE: Final = 60.0
"""For how long its end is waited for, on a busy computer too [s]."""

MESH_LEAST: Final = 0.5
"""Shortest mesh: shorter ones were drawn in metres, and said to be in millimetres."""

MESH_PARTS: Final = 10_000
"""Most parts of a mesh file."""

TUBE_MOST: Final = 100.0
"""Largest outer diameter of a tube."""

FITTING_MOST: Final = 300.0
"""Largest measure of a fitting."""

BEND_RADIUS_MOST: Final = 1000.0
"""Largest centre-line radius of a former."""

STOCK_LEAST: Final = 10.0
STOCK_MOST: Final = 10_000.0
"""Length of the tube as it is bought."""

TRIM_MOST: Final = 500.0
"""Largest trim allowance at one end."""

GRIP_MOST: Final = 300.0
"""Most straight that a bender's clip or a hand can need beside a bend."""

CLEARANCE_MOST: Final = 100.0
"""Largest least gap."""

STRAIGHT_MOST: Final = 1000.0
"""Largest least straight between bends."""

MAX_BENDS_MOST: Final = 20
CANDIDATES_MOST: Final = 100
"""More would take longer to look at than to bend."""

TURN_STEPS: Final = (90.0, 45.0)
"""What turns between bends may be held to multiples of [degrees].

What squares and the usual set squares give without a protractor; common practice, no
source.
"""

USUAL_BEND_RANGE: Final = (5.0, 120.0)
"""The least and the greatest bend of any angle unless the scene says otherwise [degrees].

Among three bends a slighter one is a bend too many; bent sharper, tube folds back on its
former. Common practice, no source.
"""

LIST_MOST: Final = 20
"""Longest list of readings, bend radii, bend angles or choices."""

LOOP_LEAST: Final = 2
LOOP_MOST: Final = 20
"""Parts of one loop: with one there is nowhere to go to."""

FLOW_LEAST: Final = 0.01
FLOW_MOST: Final = 100.0
"""Flow of coolant [L/min]: garden hoses give a third of the most."""

PRESSURE_MOST: Final = 1000.0
"""Largest pressure of a pump, a part's loss or a limit [kPa]."""

SHARE_MOST: Final = 60.0
"""Most glycol [per cent by mass]: the data that is known of mixtures ends there."""

TEMPERATURE_LEAST: Final = -40.0
TEMPERATURE_MOST: Final = 100.0
"""Coolant [°C]; which of them a liquid stands is told where its data are used."""

HEAT_MOST: Final = 10_000.0
"""Most heat that one part gives or takes [W]."""

VOLUME_MOST: Final = 100_000.0
MASS_MOST: Final = 100_000.0
"""Most that a part holds [mL] or weighs [g]."""

FITTING_LOSS_MOST: Final = 100.0
"""Largest loss of a fitting, in velocity heads of the tube."""

NAME_MOST: Final = 60
"""Longest name or title word [characters]; it has to fit on a sheet."""

SPREAD_MOST: Final = 100.0
"""Widest spread of a reading."""

PLAY_MOST: Final = 10.0
"""Most that a tube may lie beside a fitting's axis."""

TILT_LEAST: Final = 0.01
TILT_MOST: Final = 45.0
"""How far a tube may come in askew, or a bend may lie off [degrees]."""

ZERO_MOST: Final = 300.0
"""Most that a rule shows at its own end: one that was sawn off, say."""

POINT_MOST: Final = 2 * NAME_MOST + 1
"""Longest name of a point: a component's, a dot and its own [characters]."""

TITLE_MOST: Final = 200
"""Longest title [characters]."""
