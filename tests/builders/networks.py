"""Networks of readings: heights alone, and points all round a case drawn by a seed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from loopsolver.survey.adjustment import adjust
from loopsolver.survey.network import Mark, Network, Observation, Station

UP = (0.0, 0.0, 1.0)
ACROSS = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), UP)


def datum(name: str = "datum", height: float = 0.0) -> Station:
    return Station(name=name, start=(0.0, 0.0, height), free=())


def height(name: str, start: float = 0.0) -> Station:
    """A point of which only the height is sought."""
    return Station(name=name, start=(0.0, 0.0, start), free=(2,))


def rise(
    start: str,
    goal: str,
    *values: float,
    spread: float = 1.0,
    zero: float = 0.0,
    name: str | None = None,
) -> Observation:
    """A difference in height, named after its ends."""
    return Observation(
        name=name or f"{start} to {goal}",
        start=start,
        goal=goal,
        along=UP,
        values=values,
        spread=spread,
        zero=zero,
    )


def levels(
    heights: Iterable[str], *observations: Observation, start: float = 0.0
) -> Network:
    """Heights above a datum at 0, and what was read between them."""
    stations = (datum(), *(height(name, start) for name in heights))
    return Network(stations=stations, observations=observations)


def random_network(seed: int, *, parts: int = 4, more: int = 8) -> Network:
    """Parts in a case with a mark on each, as long as each length truly is.

    Every coordinate is written once, and `more` readings lie between marks, straight or
    along an axis, of spreads from 0.3 to 1.5 mm and some of them repeated.
    """
    random = np.random.default_rng(seed)
    places = random.uniform(40.0, 400.0, size=(parts, 3))
    stations = [datum()]
    marks, observations = [], []
    for number, place in enumerate(places):
        stations.append(Station(name=f"part {number}", start=tuple(place)))
        offset = tuple(random.uniform(-60.0, 60.0, size=3))
        marks.append(
            Mark(name=f"mark {number}", station=f"part {number}", offset=offset)
        )
        observations += [
            Observation(
                name=f"part {number} along {axis}",
                start="datum",
                goal=f"part {number}",
                along=along,
                values=(0.0,),
                spread=random.uniform(0.5, 1.5),
            )
            for axis, along in enumerate(ACROSS)
        ]
    for number in range(more):
        one, other = random.choice(parts, size=2, replace=False)
        straight = random.random() < 0.6
        observations.append(
            Observation(
                name=f"reading {number}",
                start=f"mark {one}",
                goal=f"mark {other}",
                along=None if straight else ACROSS[random.integers(3)],
                values=(0.0,) * int(random.choice([1, 1, 3])),
                spread=random.uniform(0.3, 1.0),
            )
        )
    return at_truth(
        Network(
            stations=tuple(stations),
            marks=tuple(marks),
            observations=tuple(observations),
        )
    )


def at_truth(network: Network) -> Network:
    """The network with all values as its stations' starts have them."""
    at_start = adjust(replace(network, observations=()))
    lengths = at_start.lengths(network.observations).tolist()
    observations = [
        replace(one, values=(length + one.zero,) * len(one.values))
        for one, length in zip(network.observations, lengths, strict=True)
    ]
    return replace(network, observations=tuple(observations))


def with_errors(network: Network, random: np.random.Generator) -> Network:
    """The network with errors of each spread added to all values."""
    observations = []
    for one in network.observations:
        errors = one.spread * random.normal(size=len(one.values))
        values = tuple(np.add(one.values, errors).tolist())
        observations.append(replace(one, values=values))
    return replace(network, observations=tuple(observations))
