"""Scene files of a case so flat that no tube passes over another.

Tubes from one wall to the opposite one whose ends stand in opposite orders must cross
there, whatever way they take: of any two of them only one can be laid.
"""

from collections.abc import Iterable

from tests.builders.texts import SMALL_COLLAR, SMALL_TUBE, Inner, head, part, port, run

DIAMETER = 10.0
MIDDLE = 11.0
"""Height of the ports, in a case twice as high: two tubes on top of each other with
clearance would need 23 mm and clearance to the walls [mm]."""


def flat_case(
    runs: Iterable[tuple[str, float, float]],
    *,
    width: float,
    spare: Iterable[float] = (),
) -> str:
    """Return a scene's text: runs by name, from x at the pump's wall to x at the front.

    Ports are called after the run, spare ones at the front's wall after their number.
    """
    runs = list(runs)
    near = [_port(name, start, "+y") for name, start, _ in runs]
    far = [_port(f"spare{number}", x, "-y") for number, x in enumerate(spare)]
    far += [_port(name, goal, "-y") for name, _, goal in runs]
    return "".join(
        [
            head(
                first={"title": "Invented: a flat case"},
                inner=[width, 300, 22],
                tube={
                    **SMALL_TUBE,
                    "bend_radius": 18,
                    "stock_length": 2000,
                    "trim_allowance": 30,
                },
                rules={"clearance": 3, "straight_between_bends": 8, "max_bends": 4},
                fittings={"collar": SMALL_COLLAR},
            ),
            part("pump", [0, 0, 0], *near),
            part("front", [0, 300, 0], *far),
            *(
                run(f"pump.{_key(name)}", f"front.{_key(name)}", name=name)
                for name, _, _ in runs
            ),
        ]
    )


def _key(name: str) -> str:
    return name.replace(" ", "_")


def _port(name: str, x: float, direction: str) -> Inner:
    return port(_key(name), [x, 0, MIDDLE], direction)


CROSSING = flat_case(
    [("left to right", 40.0, 120.0), ("right to left", 200.0, 60.0)],
    width=240.0,
    spare=(215.0,),
)
"""Two runs that cross; with the spare port instead of its own, the second would not."""


ONE_ACROSS_TWO = flat_case(
    [
        ("one", 40.0, 220.0),
        ("two", 160.0, 160.0),
        ("three", 100.0, 280.0),
    ],
    width=320.0,
)
"""The second crosses both others, which keep clear of each other."""


def tangled(count: int) -> str:
    """Return a scene of runs of which every two cross."""
    places = [50.0 + 44.0 * number for number in range(count)]
    return flat_case(
        [
            (f"run {number}", start, goal)
            for number, (start, goal) in enumerate(
                zip(places, reversed(places), strict=True)
            )
        ],
        width=60.0 + 44.0 * count,
    )
