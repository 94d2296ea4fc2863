"""How tubes go in, in words: what must be loose, in which order, and back."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from loopsolver.assembly.insertion import Easing, Insertion
from loopsolver.assembly.order import AssemblyOrder, Stuck
from loopsolver.assembly.removal import Removal
from loopsolver.geometry.vectors import Point, dot
from loopsolver.lengths import lengths_for
from loopsolver.report.sides import offset_words
from loopsolver.scene.axes import OPPOSITE, SIDES, Side, Sides
from loopsolver.scene.model import Scene
from loopsolver.tolerances import SAME_PART, TOUCH
from loopsolver.tube.stock import Tube
from loopsolver.words import counted, listed

ASSEMBLY_CAUTIONS: Final = (
    # Common practice, no source, but for the limits of acrylic: see tube/stock.
    "Mains off, and the machine's plug pulled out, until the loop is filled and dry.",
    "Do not lever on blocks, ports or tubes: tops of acrylic crack, and tube that was "
    "forced in may craze weeks later, sooner where alcohol was used.",
    "Chamfer each end, smooth to the finger, and wet it and the seal: an edge, of copper "
    "above all, cuts a dry seal, and it shows as a leak.",
    "Mark on each end how deep it goes in, with tape, before you push it.",
)
"""What can go wrong while tubes go in, the worst first."""

_FROM: Final[Mapping[Side, str]] = {
    "right": "the right",
    "left": "the left",
    "away": "the back",
    "near": "the front",
    "up": "above",
    "down": "below",
}


def insertion_sentences(of: AssemblyOrder, scene: Scene) -> Iterator[str]:
    """Yield for each tube whether it goes in with both parts fixed, or what must give."""
    if not all(one.goes_in for one in of.insertions):
        yield (
            "A tube whose ends do not go in the same way needs one of its two parts loose "
            "and drawn back; or the fitting there, if it can be pushed over the tube's "
            "end and fastened last."
        )
    for one in of.insertions:
        yield f"{one.tube.name}: {_how_words(one, scene)}{_straight_words(one)}"
    if any(one.easing and one.easing.force_n for one in of.insertions):
        yield (
            "Forces are reckoned for the tube alone, from its end, the other end held "
            "fast: an estimate."
        )


def _how_words(one: Insertion, scene: Scene) -> str:
    """Return how a tube goes in."""
    if one.easing is None:
        way = _way(one.tube.joints[0].into, one.slide, scene)
        return f"both ends go in the same way. It slides in {way}, both parts fixed."
    ends = (
        "its ends face each other"
        if one.ends == "facing"
        else f"its ends are crossed, at {math.degrees(one.angle):.0f}°"
    )
    if one.easing.rest <= TOUCH:
        wanted = lengths_for(scene.units).brief(one.easing.wanted)
        return (
            f"{ends}, but the play of both fittings lets one end aside by the {wanted} "
            "that it takes: it goes in by hand, without force."
        )
    loose = listed(
        [f"{each.part}, {_way(each.way, each.by, scene)}" for each in one.loosenings],
        last="or",
    )
    return f"{ends}. Loose: {loose}. {_easing_words(one.easing, scene)}"


def _straight_words(one: Insertion) -> str:
    """Return what the published rule says of a straight tube.

    MIL-H-8891A, 3.11.4.5, and a US Navy manual, NAVEDTRA 14105, p. 5-3.
    """
    if not one.tube.is_straight:
        return ""
    return (
        " It is straight: between two fixed parts no tube should be, since heat and "
        "shaking pull at both its ends; a bend takes them up."
    )


def _easing_words(easing: Easing, scene: Scene) -> str:
    """Return what easing a tube in by hand would take, and whether to."""
    text = lengths_for(scene.units).brief
    rest = text(easing.rest)
    if easing.share is None or easing.lasting is None:
        return (
            f"Do not ease it in by hand: it would have to give {rest}, and what "
            f"{_stuff(scene.tube)} bears has no source here."
        )
    aside = _way(easing.way, easing.wanted, scene)
    force = (
        f"{easing.force_n:.0f} N and {easing.stress_mpa:.1f} MPa, "
        f"{share_words(easing.share)} what {_stuff(scene.tube)} bears all the time"
    )
    if easing.is_harmless:
        return (
            f"Or by hand: its end for {easing.port} held aside, {aside}; it gives {rest} "
            f"for {force}."
        )
    return (
        f"Do not ease it in by hand: its end for {easing.port} would have to give {rest}, "
        f"with {force}; {text(easing.lasting)} is all it gives for long."
    )


def share_words(share: float) -> str:
    """Return a share of a limit.

    >>> share_words(0.62), share_words(1.7), share_words(11.85)
    ('62 % of', '1.7 times', '12 times')
    """
    if share <= 1.0:
        return f"{math.ceil(100.0 * share):.0f} % of"
    return f"{share:.1f} times" if share < 10.0 else f"{share:.0f} times"


def _stuff(tube: Tube) -> str:
    names = {"acrylic": f"{tube.made} acrylic", "petg": "PETG", "copper": "copper"}
    return names[tube.material]


def _way(way: Point, by: float, scene: Scene) -> str:
    """Return a way and how far: ``12 mm up``."""
    text = lengths_for(scene.units).brief
    x, y, z = way
    return offset_words((x * by, y * by, z * by), scene.sides, text=text)


def from_words(way: Point, sides: Sides) -> str:
    """Return from where something comes that leaves along a way: ``from the left``."""
    parts = zip(SIDES[::2], (sides.right, sides.away, sides.up), strict=True)
    names = [
        _FROM[side if along > 0.0 else OPPOSITE[side]]
        for side, along in ((side, dot(way, axis)) for side, axis in parts)
        if abs(along) > SAME_PART
    ]
    return f"from {listed(names)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyStep:
    """A step of putting together: its head, how, and what it is about.

    Attributes
    ----------
    head : str
    how : tuple of str
        A sentence each.
    removal : Removal or None
        Of the tube that goes in; None where parts alone are fixed.
    parts : tuple of str
        The parts that are fixed in it.
    """

    head: str
    how: tuple[str, ...]
    removal: Removal | None = None
    parts: tuple[str, ...] = ()


def assembly_steps(of: AssemblyOrder, scene: Scene) -> Iterator[AssemblyStep]:
    """Yield the steps in which a build goes together."""
    stated = scene.assembly
    last = (
        ()
        if stated is None
        else tuple(
            name
            for name in stated.last
            if name in {one.name for one in scene.components}
        )
    )
    loose = tuple(dict.fromkeys((*of.loose, *last)))
    if loose:
        yield AssemblyStep(
            head="Fix the parts",
            how=(f"All but {listed(loose)}: these stay loose in their places.",),
        )
    else:
        yield AssemblyStep(head="Fix the parts", how=("All of them, in their places.",))
    order = of.removals[::-1]
    for place, removal in enumerate(order):
        yield AssemblyStep(
            head=removal.tube, how=tuple(_tube_words(removal, scene)), removal=removal
        )
        later = {part for one in order[place + 1 :] for part in one.freeing.parts}
        done = tuple(
            part
            for part in removal.freeing.parts
            if part not in later and part not in last
        )
        if done:
            yield AssemblyStep(
                head=f"Screw down {listed(done)}",
                how=("No later tube needs it loose.",)
                if len(done) == 1
                else ("No later tube needs them loose.",),
                parts=done,
            )
    if last:
        yield AssemblyStep(
            head=f"Screw down {listed(last)}",
            how=("Last of all, as the scene has it.",),
            parts=last,
        )


def _tube_words(removal: Removal, scene: Scene) -> Iterator[str]:
    """Yield how a tube goes in: the removal told backwards."""
    freeing, leaving = removal.freeing, removal.leaving
    x, y, z = leaving.draw.way
    into = _way((-x, -y, -z), leaving.draw.by, scene)
    if freeing.shift is not None:
        others = [name for name in freeing.tubes if name != removal.tube]
        with_it = f"; {listed(others)} comes along" if len(others) == 1 else ""
        if len(others) > 1:
            with_it = f"; {listed(others)} come along"
        off = (
            f"; {listed(freeing.parted)} slides off meanwhile" if freeing.parted else ""
        )
        yield (
            f"Draw {listed(freeing.parts)} aside first, "
            f"{_way(freeing.shift.way, freeing.shift.by, scene)}{with_it}{off}."
        )
    yield f"Bring the tube in {from_words(leaving.out.way, scene.sides)}."
    if freeing.easing is not None and freeing.easing.rest > TOUCH:
        yield f"Hold its end for {freeing.port} aside meanwhile."
    yield f"Push it {into} into {listed(removal.ports)}, up to the mark."
    if leaving.swing is not None:
        turn = abs(math.degrees(leaving.swing.angle))
        yield f"Turn it by {turn:.0f}° in {listed(removal.ports)}, into its place."
    if freeing.shift is not None:
        x, y, z = freeing.shift.way
        back = _way((-x, -y, -z), freeing.shift.by, scene)
        yield (
            f"Move {listed(freeing.parts)} back, {back}: the tube goes into "
            f"{freeing.port}, up to the mark."
        )
    elif freeing.port:
        yield f"Let its other end into {freeing.port}, up to the mark."


def order_sentences(of: AssemblyOrder, scene: Scene) -> Iterator[str]:
    """Yield what must be loose, and what is not known or does not go."""
    if of.ended != "done":
        yield "The search was stopped: this is the best order found by then."
    if not of.is_stated and of.loose:
        yield (
            f"The scene does not say what may be moved. {counted(len(of.loose), 'part')} "
            f"must be loose at least, such as {listed(sorted(of.loose))}. State those that "
            f'may: [assembly] movable = ["{sorted(of.loose)[0]}"].'
        )
    for stuck in of.stuck:
        yield _stuck_words(stuck, of)
    sides: dict[str, list[str]] = {}
    for removal in of.removals[::-1]:
        way = from_words(removal.leaving.out.way, scene.sides)
        sides.setdefault(way, []).append(removal.tube)
    if len(sides) == 1:
        yield f"All tubes come in {next(iter(sides))}: the case must be open there."
    elif sides:
        ways = sorted(sides.items(), key=lambda one: -len(one[1]))
        told = [f"{way} ({', '.join(names)})" for way, names in ways]
        yield f"The case must be open where tubes come in: {'; '.join(told)}."


def _stuck_words(stuck: Stuck, of: AssemblyOrder) -> str:
    if stuck.helpful:
        names = listed([f'"{name}"' for name in stuck.helpful], last="or")
        helps = f"with {names} in [assembly] movable it would"
    elif of.is_stated:
        helps = "no other part that it ends at would help, loose by itself"
    else:
        helps = (
            "no way in was found with any part loose: another candidate, or a fitting "
            "that is pushed over the tube's end and fastened last"
        )
    return f"{stuck.tube} does not go in, whatever else is in: {helps}."


def together_words(of: AssemblyOrder) -> str:
    """Return in one line whether a loop goes together, and in which order."""
    if of.stuck:
        names = listed([one.tube for one in of.stuck])
        return f"The loop does not go together with what may be moved: {names} cannot go in"
    order = ", ".join(one.tube for one in of.removals[::-1])
    loose = f", {listed(of.loose)} loose meanwhile" if of.loose else ""
    return f"The loop goes together in this order: {order}{loose}"


def cleaning_sentences(of: AssemblyOrder) -> Iterator[str]:
    """Yield in which order tubes come out again, and what each one waits for."""
    names = [one.tube for one in of.removals]
    if len(names) > 1:
        yield (
            "For cleaning, the same backwards, the loop drained first: "
            f"{', then '.join(names)}."
        )
    for tube, others in of.blocked.items():
        if others:
            yield f"{tube} comes out only when {listed(others, last='or')} is out."
        else:
            before = names[: names.index(tube)]
            yield (
                f"{tube} comes out only when several are out: {listed(before)} are "
                "enough."
            )
