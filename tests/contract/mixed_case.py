"""A scene whose plan holds what plans can hold: an elbow, a choice of ports, two formers,
a run with bends of any angle."""

from tests.builders.texts import BOUGHT, COLLAR, box, elbow, head, part, port, run

SCENE = "".join(
    [
        head(
            first={
                "title": "Invented: an elbow, a choice of ports, bends of any angle"
            },
            inner=[320, 300, 300],
            tube={
                **BOUGHT,
                "material": "petg",
                "bend_radius": [28, 35],
                "stock_length": 600,
            },
            rules={"max_bends": 2, "candidates": 3},
            fittings={"collar": COLLAR, "elbow": elbow()},
        ),
        part(
            "pump",
            [30, 30, 30],
            box([60, 60, 80], [30, 30, 40]),
            port("out", [60, 30, 60], "+x", fitting="collar"),
            port("side", [30, 60, 20], "+y", fitting="collar"),
            port("in", [30, 30, 80], "+z", fitting="collar"),
        ),
        part(
            "card",
            [220, 180, 200],
            box([60, 60, 60], [30, 30, 30]),
            port("in", [30, 30, 60], "+z", fitting=["collar", "elbow"]),
            port("out", [0, 30, 30], "-x", fitting="collar"),
        ),
        run(["pump.out", "pump.side"], "card.in", name="pump to card"),
        run("card.out", "pump.in", bend_angles="any", bend_radius=28),
    ]
)
