"""Every tolerance and rounding of loopsolver, by name, with the reason for its size.

Lengths in millimetres, angles in radians unless the name ends in ``_DEG``.
"""

from __future__ import annotations

from typing import Final

CLOSURE: Final = 0.01
"""How near a bend table laid forward must come to the far port [mm].

A tenth of what a ruler shows; far above float64 noise over a metre of tube.
"""

CLOSURE_DEG: Final = 0.01
"""The same for the tube's end direction [degrees]."""

GAP_RESOLUTION: Final = 1e-4
"""How finely a least gap is resolved [mm]: arcs are cut until chords are this true."""

DEPTH_RESOLUTION: Final = 0.05
"""How finely the depth of a tube inside a mesh is resolved [mm]: it is told, not judged."""

LAID_WIDER: Final = 0.02
"""A laid tube's bends are held to be wider than they are by this at most [mm].

A fiftieth of what a rule shows; half of it takes half as many solids again. Were they
narrower than the tube, others would be found that their check refuses.
"""

SWEPT_WIDER: Final = 0.25
"""The same where tubes are swept past each other [mm]: a tenth as many solids.

No hand leads a tube past another one as near as that.
"""

ARC_SOUGHT: Final = 1e-5
"""How truly the least distance of an arc is sought where no closed form is known [mm].

A tenth of what the check of a finished route resolves.
"""

SHADOW_SOUGHT: Final = 1e-9
"""How truly it is sought where a line comes within reach of a turned solid [mm].

A thousandth of what a touch counts as. A line that only grazes it ends its stretch a
little too early, by less than a touch where it goes in deeper than 0.1 um.
"""

BOUND_ROUNDING: Final = 1e-12
"""Share by which bounds of distances are drawn wider, against rounding."""

JUST_TOUCHING: Final = 1e-9
"""Triangles that cross by less than this share of the cube of their size only touch."""

SLIVER: Final = 1e-9
"""Triangles with less area than this share of the square of their longest side lie in a
direction that rounding may have made.
"""

LEAST_SLOPE: Final = 0.01
"""By so much of its area at least a triangle that is told to look up is seen from above."""

OUT_OF_ROUND: Final = 0.03
"""A loop of a mesh is a circle if its corners are off it by no more of its radius.

An oval a sixteenth longer than it is wide is none; corners that waver by a fifth of a
millimetre on a port of 13 mm are let pass.
"""

NO_CORNER: Final = 1e-3
"""A loop of a mesh goes straight on where it turns by less [rad].

Single precision wavers by a tenth of that.
"""

GRAZED: Final = 1e-3
"""How truly it is sought how near a line or arc comes to a mesh between places [mm].

A tube that lies along a flat face at just the clearance is looked at all the way: each
step finer takes twice as long. What is missed is seen by the check of a finished route.
"""

TOUCH: Final = 1e-6
"""Slack in every 'at least' [mm], so that what is equal on paper passes as equal."""

RIGHT_ANGLE_DEG: Final = 1e-6
"""How far from square a square route's bend may be, from rounding alone [degrees]."""

UNIT_LENGTH: Final = 1e-12
"""Directions shorter than this have no direction."""

IN_PLANE_DEG: Final = 0.05
"""Rotations this near to 0 or 180 lie in one plane: no bender can tell [degrees]."""

ON_STEP_DEG: Final = IN_PLANE_DEG
"""Turns this near to a multiple of 45 or 90 degrees are set as one [degrees]."""

LEAST_TURN_DEG: Final = 2.0
"""Turns between bends nearer to 0 or 180 than this cannot be set by hand [degrees].

Common practice, no source: round a tube of 14 mm it is a quarter of a millimetre, half
the width of a pencil line.
"""

NEARLY_IN_LINE: Final = 5.0
"""Ports that miss being in line by less than this are probably meant to be [mm].

Common practice, no source: a measured port is rarely more than a few millimetres off.
"""

CUT_STEP: Final = 0.01
"""Piece lengths are rounded up to this for the cut plan [mm].

Far below what a saw can hit; whole counts make "does it fit" exact.
"""

BOUND_SLACK: Final = 1e-6
"""Rounding allowed for in a linear programme's bound before it is rounded up to tubes.

Towards the safe side: a bound that is too low costs time, never a tube.
"""

COINCIDENT: Final = 1e-6
"""Vertices nearer to each other than this are one vertex [mm].

Between them no direction can be trusted.
"""

NO_BEND_DEG: Final = 1e-6
"""A bend nearer to 0 than this is none; one nearer to 180 turns back [degrees].

Its plane would be rounding alone.
"""

HALF_TURN_DEG: Final = 1e-9
"""A rotation nearer to -180 than this is the half turn and reads 180 [degrees].

Rounding alone: less than a ten-millionth of a millimetre at the end of a metre of tube.
"""

ALONG_AXIS: Final = 1e-9
"""A unit direction whose parts are this near to those of an axis lies along it.

Measured scenes are less exact, arithmetic is far more so.
"""

WRITTEN_DECIMALS: Final = 6
"""Decimals of lengths [mm] and angles [degrees] in a plan file.

A nanometre: far below anything that can be cut, far above the noise of float64.
"""

WRITTEN: Final = 1e-4
"""How far a plan file's figures may be from what its vertices give [mm or degrees].

Rounded vertices a few millimetres apart turn an angle by about a hundred-thousandth
of a degree; anything above is an edit by hand.
"""

NO_ROUNDING: Final = 1e-9
"""Figures of a plan nearer to each other than this were equal before they were rounded.

Rounding alone parts figures by about a millionth, arithmetic by far less than this.
"""

ORDER_DECIMALS: Final = 6
"""Decimals by which things are put in order: what is equal to these keeps its place.

Sums in another order of additions differ in later ones.
"""

TIDY_DECIMALS: Final = 9
"""Decimals that are kept where factors and steps leave last bits behind [mm, degrees].

Far below anything measured: what is equal on paper is then equal here.
"""

MICROMETRE: Final = 3
"""Decimals of lengths of which less is no difference to anybody who looks [mm]."""

OVERLAP_DOUBT: Final = 0.5
"""Bodies that overlap, or stick out, by no more than this are not worth a word [mm].

Common practice, no source: about what measuring two faces with a steel rule leaves.
"""

OFF_SURFACE: Final = 2.0
"""A port farther than this from its component's bodies is doubtful [mm].

Common practice, no source: raised port collars are about this high.
"""

TIGHT_BEND_DIAMETERS: Final = 1.5
"""Bend radii below this many outer diameters are doubtful.

NAVEDTRA 14119 (Hull Maintenance Technician), p. 16-11: copper pipe no less than 1.5;
for plastic tube over a filler cord common practice, no source.
"""

READINGS_SPREAD: Final = 2.0
"""Readings of one measurement that differ by more than this ask to be taken again [mm].

Common practice, no source: more than a steel rule's reading error.
"""

HELD_DISTANCE: Final = 2.0
"""A distance held to a rule in the case may differ by this from the plan's [mm].

Common practice, no source: what a rule held free between two rims leaves, and about
what a tube gives without force.
"""

HELD_COST: Final = 1e-4
"""What a later part of a total may take from an earlier one that is settled.

Bends are whole and lengths are in millimetres, so it is far below what counts; and well
above the 1e-6 to which an integer programme keeps its rows.
"""

PARALLEL_DEG: Final = 1.0
"""Straights whose directions differ by no more than this run parallel [degrees].

Common practice, no source: about what the eye tells over a hand's breadth of tube.
"""

NEIGHBOUR_DIAMETERS: Final = 4.0
"""Tubes whose axes are no further apart than so many outer diameters are neighbours.

Common practice, no source: further apart the eye does not take them for a pair.
"""

EVEN_SPACING: Final = 1.0
"""Spacings that differ by no more than this look the same [mm].

Common practice, no source: what measuring with a steel rule leaves.
"""

PARALLEL_GAIN: Final = 1.0
"""A choice is tidier only if more tube than this runs parallel [mm].

Nobody sees less; without it tubes would move for the rounding of sums.
"""

EQUAL_TOTALS: Final = 1e-3
"""Totals of two choices nearer to each other than this are the same.

Of a length it is a micrometre, of a count far less than one bend.
"""

SHORTEST_SIDE_BY_SIDE: Final = 1.0
"""Stretches of tube side by side that are shorter are not worth a word [mm].

As `PARALLEL_GAIN`: nobody sees less.
"""

SAME_WAY_ROUND: Final = 30.0
"""Routes whose vertices all lie this near to another's are the same way round [mm].

Common practice, no source: about two tubes' breadth.
"""

NO_SHORTER: Final = 0.1
"""Tubes that differ in length by less than this are as long as each other [mm].

Far below what a saw hits, far above what shortening leaves.
"""

SAME_ROUTE: Final = 1.0
"""Tubes whose vertices all lie this near to another's are the same tube [mm].

Common practice, no source: what bending by hand leaves is more.
"""

SAME_LEVEL: Final = 1.0
"""Places for a leg that are nearer to each other than this are one place [mm]."""

SAME_COORDINATE: Final = 1e-9
"""Coordinates of a lattice nearer to each other than this are one [mm].

Rounding alone keeps them apart.
"""

MET: Final = 0.01
"""A ray from the eye that is so near to a solid has met it [mm]: less than can be seen."""

SAME_HEIGHT: Final = 1e-3
"""Points of a picture that are lower than the highest by less than this are as high [mm].

Pictures are kept in float32, which resolves a case to a tenth of this.
"""

SAME_PART: Final = 1e-3
"""Parts of a unit direction nearer to each other than this, or to 0, are told as equal.

A twentieth of a degree, as `IN_PLANE_DEG`.
"""

SAME_ANGLE: Final = 1e-9
"""Angles that differ by less than this are the same [rad]: rounding alone."""

SQUARE_COSINE: Final = 1e-9
"""Cosine below which two directions count as square to each other.

Measured scenes are less exact, arithmetic is far more so.
"""

PARALLEL_SINE: Final = 1e-9
"""Directions the square of whose sine is below this are parallel.

Their normal would be rounding alone.
"""

STRAIGHT_SINE: Final = 1e-9
"""A bend with a sine below this has no inner side: it is divided by this instead."""

FLAT: Final = 1e-9
"""Below this the square of a unit direction's part out of a plane counts as zero."""

OUT_OF_PLANE: Final = 1e-7
"""How far an end may lie out of the plane of a flat tube, from rounding [mm]."""

ROUNDING: Final = 1e-9
"""What a length may be short of its least, from rounding [mm]."""

WHOLE: Final = 1e-9
"""What a count of parts may be above a whole number, from rounding, and still be that."""

DRAWN_IN: Final = 1e-3
"""How near to its limit a leg of a square route is drawn [mm].

Far below what a saw hits.
"""

SHORTENED_MARGIN: Final = 2e-4
"""Kept beyond every limit where a route is shortened [mm].

Twice what a gap is resolved to, so that the check afterwards never argues.
"""

FIRST_DIFFERENCE: Final = 1e-4
"""Step of the differences that stand for first derivatives [mm].

Far below what bends a limit over one step, far above the noise of float64.
"""

SECOND_DIFFERENCE: Final = 0.05
"""The same for second derivatives [mm]: larger, as noise is divided by its square."""

FLATTEST: Final = 1e-3
"""Moves that change the angles by less than this share of the most are left alone.

They would have to be a thousand times as long.
"""

LEVEL_SUM: Final = 1e-6
"""Sums of angles with less slope than this share of the steepest have none.

Differences resolve a slope no better.
"""

CURVED: Final = 1e-5
"""Moves that bend such a sum by less than this do not bend it [rad / mm^2].

Differences resolve a curvature no better.
"""

NEARLY_ON_STEP: Final = 1e-2
"""Turns led this near to a multiple of a step will be led all the way [rad].

Half a degree: what is not led so far is led to a tube that is not there.
"""

EXACT_ANGLE: Final = 1e-12
"""Angles nearer to what they should be than this are exact [rad].

A billionth of a millimetre at the end of a metre of tube.
"""

NO_RESIDUAL: Final = 1e-14
"""A least-squares residual below this is none: the limits exclude each other."""

LEAST_TOLD: Final = 0.05
"""What rounds to no tenth of a millimetre is not told of [mm]."""

NO_TIE: Final = 1e-7
"""By multiples of this lines are moved aside so that none meets another [mm].

Far below what any body is thick, far above the noise of float64 over a metre.
"""

HELD_SHARE: Final = 1e-9
"""Less than this share of a coordinate's own weight left holds it by rounding alone.

Weights are squares: readings within two degrees of square to it leave a thousandth.
"""

ANOTHER_PLACE: Final = 1.0
"""Places that readings fit are two if they are further apart than this [mm].

Common practice, no source: what a steel rule leaves; mirror images are far more apart.
"""

DAMPED: Final = 1e-10
"""Share of a coordinate's own weight that is added to it while it is adjusted.

It keeps what nothing holds where it is, and slows no step by more than its rounding.
"""

FALSE_ALARM: Final = 0.001
"""Chance at which a test of readings alarms where nothing is wrong.

Usual in land surveying since Baarda (1968): a case of thirty readings is alarmed for
nothing once in thirty times.
"""

SETTLED: Final = 1e-5
"""A step of an adjustment below this ends it [mm].

The next would be shorter by far, and even this one shows on no rule.
"""

UNCHECKED: Final = 1e-3
"""A reading of which the others check no more than this share is checked by none.

Baarda's least blunder seen would be 130 spreads: 65 mm where a rule is read to half one.
"""

NO_FLOW: Final = 1e-6
"""Less than this is no flow [L/min]: a drop in half a day."""

SAME_FLOW: Final = 1e-6
"""Flows nearer to each other than this are the same [L/min]; step of their differences.

Far below what any meter shows, far above the noise of float64.
"""

BALANCED_KPA: Final = 1e-9
"""Pressures round a circle that sum to less than this cancel [kPa].

A ten-millionth of a millimetre of water: rounding alone.
"""

NO_HEAT: Final = 0.5
"""Heats of a loop that sum to less than this sum to nothing [W].

Stated heats are whole watts.
"""

NO_AIR: Final = 1e-6
"""Less air, or coolant, than this is none [mL]: rounding alone, a thousandth of a bead."""

NO_HEIGHT: Final = 1e-9
"""What reaches over less than this lies level [mm]; it only keeps a quotient finite."""

NO_SHARE: Final = 1e-9
"""Less than this share of what a fitting takes is none; it only keeps a quotient finite."""

SAWN: Final = 0.5
"""How much longer or shorter a tube's end may always be [mm].

Common practice, no source: what a saw leaves.
"""

NO_PLAY: Final = 1e-6
"""A bore that may be no wider than the tube is taken as wider by this [mm]: nothing fits.

It only keeps a quotient finite.
"""

NO_WAY: Final = 1e-9
"""Share of the greatest below which a way that a tube could be out cannot be met.

Far above float64 noise, far below what any straight, turn or angle does to a far end.
"""
