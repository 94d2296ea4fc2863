"""The commented scene that ``loopsolver new`` writes: a small build to start from."""

from __future__ import annotations

from typing import Final

STARTER: Final = """\
# A scene for loopsolver: what stands in the case, and which tubes are wanted.
#
# Put your own measurements in, then try:
#   loopsolver check THIS_FILE      what is wrong or doubtful
#   loopsolver view THIS_FILE       see it
#   loopsolver route THIS_FILE      find the tubes
#
# Choose one corner of the case, inside, as the datum corner (0, 0, 0). Here it is at
# the bottom, behind the board, at the rear. From it x runs from the board to the side
# panel, y from the rear wall to the front, z from bottom to top. Stand before the front
# of the case: the board is on the right, so x points left, y near (towards you), z up.

format = 1
title = "Dunnock: a small cube with a pump, a tank on it and one block"
units = "mm"                    # of plain numbers: "mm", "cm" or "in"
                                # a text carries its own: "3.5 in", "3 1/2 in", "12 mm"

[case]
inner = [180, 300, 280]         # free inside along x, y and z
axes = ["left", "near", "up"]   # where x, y and z point as seen from before the front,
                                # the machine standing as it is used: "right" or "left",
                                # "away" or "near", "up" or "down". Wrong words here
                                # can make every tube a mirror image.

[tube]
material = "acrylic"            # "acrylic", "petg" or "copper"
outer_diameter = 14
inner_diameter = 10
bend_radius = 28                # of your former, to the tube's centre line
stock_length = 500              # as it is sold
trim_allowance = 40             # left over at each end until the bends are done
# grip = 25                     # straight that your bender needs beside a bend

[rules]
clearance = 3                   # least gap round every tube
straight_between_bends = 15     # least straight between two bends
bend_angles = [90]              # [90], [45, 90], or "any"
turn_step = "any"               # turns between bends: multiples of 90 or 45, or "any"
bend_range = [5, 120]           # with "any": least bend, from three on, and greatest
max_bends = 5
candidates = 6                  # most candidates kept for a run

# The fitting that holds the tube, screwed into a port. Measure one of yours.
[fittings.collar]
height = 20                     # from the port's face to the mouth
depth = 12                      # from the mouth to the seat: how far the tube goes in
diameter = 22
straight_beyond = 5             # the tube stays straight this far outside the mouth

# An elbow: its outlet swivels round the port, and the tube leaves it to the side.
[fittings.elbow]
turn = 90                       # degrees between the port's direction and the outlet
height = 22                     # from the port's face to the outlet's axis
reach = 24                      # from the port's axis to the mouth
depth = 12
diameter = 22
straight_beyond = 5

# A component has a position in the case. All that is written under it is measured from
# its own origin; choose a corner of it that is easy to measure from.
[components.tank]
position = [90, 205, 0]

[[components.tank.bodies]]      # the pump: a box; its centre, in the tank's own measures
box = [60, 60, 55]
centre = [30, 30, 27.5]

[[components.tank.bodies]]      # the tank on top of it: a cylinder
cylinder = { diameter = 60, height = 105 }
centre = [30, 30, 107.5]
axis = "+z"

[components.tank.ports.out]     # in the pump's rear face
position = [30, 0, 30]          # the middle of the port's face
direction = "-y"                # out of the port: "+x" ... "-z", or three numbers
flow = "out"                    # "in", "out", or "either" where both will do
fitting = "collar"

[components.tank.ports.in]      # in the tank's lid
position = [30, 30, 160]
direction = "+z"
flow = "in"
fitting = ["collar", "elbow"]   # a choice: an elbow counts as much as a bend

[components.board]
position = [8, 16, 20]

[[components.board.bodies]]
box = [2, 244, 244]
centre = [1, 122, 122]

[components.block]              # stands on the board
position = [10, 80, 150]

[[components.block.bodies]]
box = [32, 70, 70]
centre = [16, 35, 35]

[components.block.ports.in]
position = [32, 55, 55]
direction = "+x"
flow = "in"
fitting = "collar"

[components.block.ports.out]
position = [32, 15, 15]
direction = "+x"
flow = "out"
fitting = "collar"

[components.supply]
position = [20, 10, 0]

[[components.supply.bodies]]
box = [140, 80, 80]
centre = [70, 40, 40]

[[keep_outs]]                   # space that must stay free, though nothing is there
name = "side panel cables"
box = [10, 300, 280]
centre = [175, 150, 140]

# The parts in the order in which the coolant goes through them: a tube from each to the
# next, and from the last back to the first. With order = "any" the best one is searched.
[loop]
order = ["tank", "block"]

# A tube may be written by itself, too. Between two neighbours in the loop it takes the
# place of the loop's tube; any other is one tube more.
[[runs]]
name = "tank to block"
from = "tank.out"               # or just "tank": any port that the coolant leaves by
to = "block.in"
"""
"""The starter scene's text. It loads without a fault, is in no doubt, and has a route
for both of its tubes."""
