"""One candidate as it is bent: what `bends` prints."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from loopsolver.cli.lengths import counted, degrees, rotation
from loopsolver.cli.output import Sheet, say, say_sheet, say_wrapped
from loopsolver.lengths import Lengths, fixed, lengths_for
from loopsolver.workshop.stock_fit import over_stock, stock_help
from loopsolver.workshop.wording import bender_words, clock_sense

if TYPE_CHECKING:
    from loopsolver.plan import PlannedRun
    from loopsolver.routing.problem import Candidate
    from loopsolver.scene.model import Scene
    from loopsolver.tube.bench_doubts import BenchDoubt
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
    """A candidate of a run, to be bent from the scene's tube.

    Attributes
    ----------
    run : PlannedRun
    rank : int
        Of the candidate.
    scene : Scene
    is_turned_round : bool
        Whether its first end is the last one of the plan and of the sheets.
    """

    run: PlannedRun
    rank: int
    scene: Scene
    is_turned_round: bool = False

    def from_other_end(self) -> Setup:
        """Return the same tube with its ends exchanged."""
        return replace(
            self,
            run=self.run.from_other_end(),
            is_turned_round=not self.is_turned_round,
        )

    @property
    def candidate(self) -> Candidate:
        """The candidate itself."""
        return self.run.candidate(self.rank)

    @property
    def tube(self) -> Tube:
        """The tube that it is bent from."""
        return self.scene.tube

    @property
    def lengths(self) -> Lengths:
        """How its lengths are printed."""
        return lengths_for(self.scene.units)

    @property
    def ends(self) -> tuple[str, str]:
        """The ports of its first and last end."""
        from loopsolver.plan.bench_doubts import end_names

        return end_names(self.run, self.candidate)

    @property
    def doubts(self) -> tuple[BenchDoubt, ...]:
        """What is doubtful about bending it."""
        from loopsolver.plan.bench_doubts import candidate_doubts

        return candidate_doubts(self.scene, self.candidate)

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
    run, candidate, (first, last) = setup.run, setup.candidate, setup.ends
    chosen = ", chosen" if setup.rank == run.chosen else ""
    say(f"{run.name}: {first} to {last}")
    say(
        f"candidate {setup.rank} of {len(run.candidates)}{chosen}: "
        f"{counted(candidate.bends, 'bend')} in {counted(candidate.planes, 'plane')}"
    )
    if setup.is_turned_round:
        say_wrapped([_turned_round_words(setup)], mark="")
    say()
    say_wrapped(_stock_words(setup), mark="")
    say()
    _say_doubts(setup)
    if candidate.bends == 0:
        say("No bends: a straight tube.")
    else:
        _say_planes(setup)
        say()
        _say_marks(setup)


def _turned_round_words(setup: Setup) -> str:
    """Return that all is counted from the other end than on the sheets."""
    first, last = setup.ends
    return (
        f"From its other end: the first end is the one at {first}. The sheets count "
        f"from the end at {last}: use no mark or turn of theirs with these."
    )


def _say_doubts(setup: Setup) -> None:
    """Print what is doubtful about bending the tube, if anything is."""
    from loopsolver.plan.bench_doubts import bench_words

    told = bench_words(setup.scene, setup.run, setup.candidate, text=setup.lengths.text)
    if told:
        say("Doubtful at the bench:")
        say_wrapped(one.sentence for one in told)
        say()


def say_caution(material: Material) -> None:
    """Print what can hurt, and where to read on."""
    say_wrapped([_CAUTIONS[material]], mark="")


def setup_document(setup: Setup) -> dict[str, Any]:
    """Return all that is needed to bend one tube as plain JSON values."""
    from loopsolver.plan.record import as_written, figures

    candidate = as_written(setup.candidate)
    return {
        "name": setup.run.name,
        "from": setup.ends[0],
        "to": setup.ends[1],
        "candidate": setup.rank,
        "chosen": setup.run.chosen,
        "other_end": setup.is_turned_round,
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
                **(_heat(mark) if setup.tube.is_bent_hot else {}),
            }
            for mark in setup.marks
        ],
        "doubts": [doubt_document(doubt) for doubt in setup.doubts],
    }


def _heat(mark: BendMark) -> dict[str, float]:
    """Return from where to where a bend is heated, as plain JSON values."""
    return {
        "heated_from": round(mark.heated_from, 6),
        "heated_to": round(mark.heated_to, 6),
    }


def doubt_document(doubt: BenchDoubt) -> dict[str, Any]:
    """Return a doubt as plain JSON values: its kind, and its figures."""
    figures = {
        name: round(value, 6) if isinstance(value, float) else value
        for name, value in asdict(doubt).items()
    }
    return {"kind": doubt.kind, **figures}


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
        say_wrapped(
            [
                f"Clockwise is as seen from the first end ({setup.ends[0]}), "
                f"looking along the tube towards {setup.ends[1]}."
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
    """Print the marks; the heat's of tube that is heated, else how the bender is set."""
    lengths, unit = setup.lengths, setup.lengths.unit
    is_hot = setup.tube.is_bent_hot
    columns = {
        f"start\n{unit}": [mark.start for mark in setup.marks],
        f"centre\n{unit}": [mark.centre for mark in setup.marks],
        f"end\n{unit}": [mark.end for mark in setup.marks],
    }
    if is_hot:
        columns[f"heat from\n{unit}"] = [mark.heated_from for mark in setup.marks]
        columns[f"heat to\n{unit}"] = [mark.heated_to for mark in setup.marks]
    say("Marks along the blank, from its first end")
    say_sheet(
        Sheet(
            headings=("bend", *columns),
            rows=[
                (str(number), *map(lengths.number, places))
                for number, places in enumerate(
                    zip(*columns.values(), strict=True), start=1
                )
            ],
            least_width=_COLUMN,
        )
    )
    if not is_hot:
        say_wrapped([bender_words(setup.ends)], mark="")
