"""A scene whose plan holds what plans can hold: an elbow, a choice of ports, two formers,
a run with bends of any angle."""

SCENE = """\
format = 1
title = "Invented: an elbow, a choice of ports, bends of any angle"

[case]
inner = [320, 300, 300]

[tube]
material = "petg"
outer_diameter = 14
inner_diameter = 10
bend_radius = [28, 35]
stock_length = 600
trim_allowance = 30

[rules]
max_bends = 2
candidates = 3

[fittings.collar]
height = 20
depth = 12
diameter = 22
straight_beyond = 5

[fittings.elbow]
height = 20
reach = 22
turn = 90
depth = 12
diameter = 22
straight_beyond = 5

[components.pump]
position = [30, 30, 30]
[[components.pump.bodies]]
box = [60, 60, 80]
centre = [30, 30, 40]
[components.pump.ports.out]
position = [60, 30, 60]
direction = "+x"
fitting = "collar"
[components.pump.ports.side]
position = [30, 60, 20]
direction = "+y"
fitting = "collar"
[components.pump.ports.in]
position = [30, 30, 80]
direction = "+z"
fitting = "collar"

[components.card]
position = [220, 180, 200]
[[components.card.bodies]]
box = [60, 60, 60]
centre = [30, 30, 30]
[components.card.ports.in]
position = [30, 30, 60]
direction = "+z"
fitting = ["collar", "elbow"]
[components.card.ports.out]
position = [0, 30, 30]
direction = "-x"
fitting = "collar"

[[runs]]
name = "pump to card"
from = ["pump.out", "pump.side"]
to = "card.in"

[[runs]]
name = "card to pump"
from = "card.out"
to = "pump.in"
bend_angles = "any"
bend_radius = 28
"""
