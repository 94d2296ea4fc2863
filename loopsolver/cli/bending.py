"""One candidate as it is bent: what `bends` prints."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from loopsolver.cli.lengths import counted, degrees, rotation
from loopsolver.cli.output import Sheet, say, say_sheet, say_wrapped
from loopsolver.lengths import Lengths, fixed, lengths_for
from loopsolver.workshop.stock_fit import over_stock, stock_help
from loopsolver.workshop.wording import clock_sense

if TYPE_CHECKING:
    from loopsolver.plan import PlannedRun
    from loopsolver.routing.problem import Candidate
    from loopsolver.scene.model import Unit
    from loopsolver.tube.bend_table import Bend
    from loopsolver.tube.marks import BendMark
    from loopsolver.tube.planes import PlaneStretch
    from loopsolver.tube.stock import Material, Tube

_COLUMN: Final = 9
"""Least width of a number's column, so that the tables of all planes line up."""

_CAUTIONS: Final[dict[Material, str]] = {
    "acrylic": (
        "Hot tube and hot air burn, and overheated acrylic gives off harmful fumes: "
        "gloves, fresh air, and the tube maker's data first. README.md says more."
    ),
    "petg": (
        "Hot tube and hot air burn, and overheated PETG gives off harmful fumes: "
        "gloves, fresh air, and the tube maker's data first. README.md says more."
    ),
    "copper": (
        "Cut copper has sharp edges, and where it was heated it stays hot for long: "
        "gloves, and the tube maker's data first. README.md says more."
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A candidate of a run, to be bent from a tube.

    Attributes
    ----------
    run : PlannedRun
    rank : int
        Of the candidate.
    tube : Tube
    units : Unit
        In which the scene was measured.
    """

    run: PlannedRun
    rank: int
    tube: Tube
    units: Unit

    @property
    def candidate(self) -> Candidate:
        """The candidate itself."""
        return self.run.candidate(self.rank)

    @property
    def ports(self) -> tuple[str, str]:
        """The ports at its first and its other end; candidates may differ in them."""
        ends = self.candidate.ends
        if len(ends) != 2:
            return self.run.from_port, self.run.to_port
        return ends[0].port, ends[1].port

    @property
    def lengths(self) -> Lengths:
        """How its lengths are printed."""
        return lengths_for(self.units)

    @property
    def stretches(self) -> tuple[PlaneStretch, ...]:
        """Its plane stretches."""
        from loopsolver.tube.planes import plane_stretches

        return plane_stretches(self.candidate.table)

    @property
    def marks(self) -> tuple[BendMark, ...]:
        """Its marks along the blank."""
        from loopsolver.tube.marks import bend_marks

        return bend_marks(
            self.candidate.table,
            trim_allowance=self.candidate.trim_allowance,
            outer_diameter=self.tube.outer_diameter,
        )


def turn_words(rotation_deg: float, *, number: int) -> str:
    """Return where a bend points, against the bend before it, and how to get there.

    Parameters
    ----------
    rotation_deg : float
        Right-handed about the direction of travel, in (-180, 180] [degrees].
    number : int
        Of the bend, counted from 1.

    Notes
    -----
    On a former that stays where it is, every bend is made towards the same side of the
    room, so the tube itself is turned the other way to bring the new side there.
    """
    forward, back = clock_sense(rotation_deg), clock_sense(-rotation_deg)
    amount = degrees(abs(rotation_deg))
    return (
        f"Bend {number} points {amount} {forward} of bend {number - 1}. On a former "
        f"that stays where it is, turn the tube {amount} {back} before bend {number}."
    )


def way_words(bend: Bend, *, number: int) -> str:
    """Return to which side a bend goes, against the bend before it in its plane."""
    if abs(bend.rotation_deg) < 90.0:
        return f"same way as bend {number - 1}"
    return f"opposite to bend {number - 1}"


def say_setup(setup: Setup) -> None:
    """Print all that is needed to bend one tube."""
    run, candidate, (first, last) = setup.run, setup.candidate, setup.ports
    chosen = ", chosen" if setup.rank == run.chosen else ""
    say(f"{run.name}: {first} to {last}")
    say(
        f"candidate {setup.rank} of {len(run.candidates)}{chosen}: "
        f"{counted(candidate.bends, 'bend')} in {counted(candidate.planes, 'plane')}"
    )
    say()
    say_wrapped(_stock_words(setup), mark="")
    say()
    if candidate.bends == 0:
        say("No bends: a straight tube.")
    else:
        _say_planes(setup)
        say()
        _say_marks(setup)


def say_caution(material: Material) -> None:
    """Print what can hurt, and where to read on."""
    say_wrapped([_CAUTIONS[material]], mark="")


def setup_document(setup: Setup) -> dict[str, Any]:
    """Return all that is needed to bend one tube as plain JSON values."""
    from loopsolver.plan.record import as_written, figures

    candidate = as_written(setup.candidate)
    return {
        "name": setup.run.name,
        "from": setup.ports[0],
        "to": setup.ports[1],
        "candidate": setup.rank,
        "chosen": setup.run.chosen,
        **figures(candidate),
        "bend_radius": candidate.centreline.radius,
        "trim_allowance": candidate.trim_allowance,
        "stock_length": setup.tube.stock_length,
        "fits_stock": not over_stock(setup.candidate, setup.tube),
        "plane_stretches": [
            {
                "first": stretch.first,
                "last": stretch.last,
                "turn": round(stretch.turn_deg, 6) + 0.0,
            }
            for stretch in setup.stretches
        ],
        "marks": [
            {
                "bend": mark.number,
                "start": round(mark.start, 6),
                "centre": round(mark.centre, 6),
                "end": round(mark.end, 6),
                "heated_from": round(mark.heated_from, 6),
                "heated_to": round(mark.heated_to, 6),
            }
            for mark in setup.marks
        ],
    }


def _stock_words(setup: Setup) -> Iterator[str]:
    """Yield what to cut, from what, and what to trim."""
    candidate, tube, text = setup.candidate, setup.tube, setup.lengths.text
    trim = candidate.trim_allowance
    yield (
        f"Tube: {tube.material}, {text(tube.outer_diameter)} outside, "
        f"{text(tube.inner_diameter)} inside; bend radius "
        f"{text(candidate.centreline.radius)} to the centre line."
    )
    yield (
        f"Cut a blank of {text(candidate.blank)}: {text(candidate.length)} of finished "
        f"tube and {text(trim)} of trim allowance at each end."
    )
    over = over_stock(candidate, tube)
    if over:
        yield (
            f"The stock of {text(tube.stock_length)} is {text(over)} too short; it "
            f"takes {stock_help(candidate, tube, text=text)}."
        )
    else:
        yield (
            f"The stock of {text(tube.stock_length)} is long enough; "
            f"{text(tube.stock_length - candidate.blank)} are left over."
        )
    yield (
        f"When all bends are done, trim at {text(trim)} and at "
        f"{text(trim + candidate.length)} from the blank's first end."
    )


def _say_planes(setup: Setup) -> None:
    table, lengths = setup.candidate.table, setup.lengths
    say("Bend table")
    for place, stretch in enumerate(setup.stretches, start=1):
        if place > 1:
            say()
            say_wrapped([turn_words(stretch.turn_deg, number=stretch.first)], mark="")
        say(f"Plane {place}")
        say_sheet(_plane_sheet(setup, stretch))
    say(f"Closing straight: {lengths.text(table.closing_straight)}")
    if len(setup.stretches) > 1:
        first, last = setup.ports
        say_wrapped(
            [
                f"Clockwise is as seen from the first end ({first}), "
                f"looking along the tube towards {last}."
            ],
            mark="",
        )


def _plane_sheet(setup: Setup, stretch: PlaneStretch) -> Sheet:
    rows = []
    for number in range(stretch.first, stretch.last + 1):
        bend = setup.candidate.table.bends[number - 1]
        rows.append(
            (
                str(number),
                setup.lengths.number(bend.straight),
                rotation(bend.rotation_deg),
                fixed(bend.angle_deg, 1),
                "" if number == stretch.first else way_words(bend, number=number),
            )
        )
    return Sheet(
        headings=(
            "bend",
            f"straight\n{setup.lengths.unit}",
            "rotation\ndegrees",
            "angle\ndegrees",
            "way",
        ),
        rows=rows,
        words=frozenset({4}),
        least_width=_COLUMN,
    )


def _say_marks(setup: Setup) -> None:
    lengths, unit = setup.lengths, setup.lengths.unit
    say("Marks along the blank, from its first end")
    say_sheet(
        Sheet(
            headings=(
                "bend",
                f"start\n{unit}",
                f"centre\n{unit}",
                f"end\n{unit}",
                f"heat from\n{unit}",
                f"heat to\n{unit}",
            ),
            rows=[
                (
                    str(mark.number),
                    *(
                        lengths.number(value)
                        for value in (
                            mark.start,
                            mark.centre,
                            mark.end,
                            mark.heated_from,
                            mark.heated_to,
                        )
                    ),
                )
                for mark in setup.marks
            ],
            least_width=_COLUMN,
        )
    )
