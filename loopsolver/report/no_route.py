"""Why there is no tube, and what would give one, in words.

No sentence ends in a full stop: whoever prints it goes on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from types import MappingProxyType
from typing import Any, Final

from loopsolver.geometry.vectors import Point
from loopsolver.lengths import Lengths, lengths_for
from loopsolver.report.angles import angles, any_angle, degrees, short
from loopsolver.report.nearness import too_near_words, within_or_into
from loopsolver.report.rule_changes import change_in_words, tried_in_words
from loopsolver.report.whole_loop import (
    loop_remedies_in_words,
    loop_remedy_in_words,
    other_port_in_words,
)
from loopsolver.routing.diagnosis.no_route import (
    Askew,
    BendBlocked,
    CannotTurn,
    CornerTooNear,
    ElbowsBlocked,
    FacingBlocked,
    FacingTooNear,
    Fact,
    NoneFound,
    NoneInEmptyCase,
    NoPlace,
    NoPortsLeft,
    NoRoute,
    NotExplained,
    NotRouted,
    OffsetTooNarrow,
    OffsetTooShort,
    OtherFitting,
    OtherPort,
    OutOfLine,
    OutOfRange,
    Reason,
    Remedy,
    ReturnTooNarrow,
    RulesAsked,
    Searched,
    Shortfall,
    StockTooShort,
    StraightBlocked,
    Suggestion,
)
from loopsolver.routing.diagnosis.whole_loop import (
    LoopRemedies,
    LoopRemedy,
)
from loopsolver.routing.ends import SWIVELS
from loopsolver.routing.problem import least_bend_deg
from loopsolver.scene.model import Scene
from loopsolver.words import counted, listed, some_of

MOST_NAMED: Final = 3
"""Of the things in the way no more than so many are named."""

_OfLoop = LoopRemedy | LoopRemedies


def why_in_words(why: NoRoute | LoopRemedy | LoopRemedies, scene: Scene) -> str:
    """Return why a run of a scene has no chosen tube, in the scene's unit.

    Of what would let all runs fit: the changes, or what was tried.

    First what is in the way; then, for a run that finds no place beside the others, a
    line for each thing that helps. The lines read on as one sentence where they are not
    kept apart.
    """
    return in_words(why, lengths_for(scene.units))


def in_words(one: NoRoute | Fact | Remedy | _OfLoop, lengths: Lengths) -> str:
    """Return one piece of why there is no tube in words.

    Raises
    ------
    TypeError
        If nobody has put this sort of piece into words.
    """
    worded = _WORDS.get(type(one))
    if worded is None:
        msg = f"no words for {one!r}"
        raise TypeError(msg)
    if callable(worded):
        return worded(one, lengths)
    told = {
        key.name: _figure(key.name, getattr(one, key.name), lengths)
        for key in fields(one)
    }
    told["bend"] = _bend(getattr(one, "angle_deg", 0.0))
    told["every_port"] = " and on ".join(getattr(one, "ports", ()))
    return worded.format_map(told)


def _figure(name: str, value: Any, lengths: Lengths) -> Any:
    """Return the value of a field as it stands in a sentence."""
    match value:
        case Shortfall():
            return too_near_words(value, lengths)
        case RulesAsked():
            return _within(value, lengths)
        case float() if name.endswith("_deg"):
            return degrees(value)
        case float():
            return lengths.brief(value)
        case int() if name == "max_bends":
            return counted(value, "bend")
    return angles(value) if name == "angles_deg" else value


def _bend(angle_deg: float) -> str:
    return f"{angle_deg:.4g}-degree bend"


# ---------------------------------------------------------------- why there is no tube


def _reason(why: Reason, lengths: Lengths) -> str:
    told = "; ".join(in_words(fact, lengths) for fact in why.facts)
    if not why.suggestions:
        tried = tried_in_words(why.tried, lengths) or "there is none to try"
        return f"{told}; no change that was tried helps: {tried}"
    remedies = [in_words(one, lengths) for one in why.suggestions]
    return f"{told}; possible {listed(remedies, last='or')}"


def _no_ports_left(why: NoPortsLeft, _: Lengths) -> str:
    start, goal = " or ".join(why.from_ports), " or ".join(why.to_ports)
    because = "the coolant goes the other way there, or other runs hold them"
    if why.contest is not None:
        because = why.contest.sentence
    return f"no two ports are left for a tube from {start} to {goal}: {because}"


def _no_place(why: NoPlace, lengths: Lengths) -> str:
    possible = ",\n".join(_remedies(why, lengths))
    return f"{_met(why, lengths)};\n{possible}"


def _met(why: NoPlace, lengths: Lengths) -> str:
    """Return which runs are in the way."""
    if why.taken:
        held = listed([f"{one.port} is taken by {one.run!r}" for one in why.taken])
        return f"no port is left for it: {held}, and a port holds one tube"
    met = [
        f"{within_or_into(one.gap, repr(one.run), text=lengths.brief)} at "
        f"{_place(one.at, lengths)}"
        for one in why.in_the_way
    ]
    told = "no route of it that was found fits beside the others"
    return f"{told}; its best {listed(met)}"


def _remedies(why: NoPlace, lengths: Lengths) -> Iterator[str]:
    """Yield what gives a run a place beside the others."""
    for number, remedy in enumerate(why.remedies):
        words = in_words(remedy, lengths)
        yield f"or {words}" if number else f"possible {words}"
    if not why.is_all_tried:
        yield "what would help was not tried: the search was stopped"
    elif why.taken:
        yield (
            f"{'or ' if why.remedies else ''}give one of them another port, or join "
            "them at a piece with three ports, as a component of its own"
        )
    elif not why.remedies:
        yield "nothing that was tried helps while they stay where they are"


def _place(at: Point, lengths: Lengths) -> str:
    """Return a point in whole millimetres, or in tenths of an inch."""
    decimals = 0 if lengths.millimetres == 1.0 else 1
    numbers = [f"{value / lengths.millimetres:.{decimals}f}" for value in at]
    return f"({', '.join(numbers)}) {lengths.unit}"


# --------------------------------------------------------------- what stands against one


def _return_too_narrow(fact: ReturnTooNarrow, lengths: Lengths) -> str:
    first_deg, second_deg = fact.angles_deg
    named = f"bends of {degrees(first_deg)} and {degrees(second_deg)}"
    if math.isclose(first_deg, second_deg):
        named = f"two {_bend(first_deg)}s"
    return (
        f"{named} need {lengths.brief(fact.needed)} between the axes of two ports that "
        f"point the same way, and there are {lengths.brief(fact.there_is)}"
    )


def _out_of_line(fact: OutOfLine, lengths: Lengths) -> str:
    off = [
        f"{lengths.brief(by)} out of line{f' along {axis}' if axis else ''}"
        for axis, by in fact.off
    ]
    return (
        f"the ports are {listed(off)}, which at most {counted(fact.max_bends, 'bend')} "
        f"with turns in multiples of {degrees(fact.turn_step_deg)} cannot make up"
    )


def _none_found(fact: NoneFound, lengths: Lengths) -> str:
    tube = f"no tube of {_within(fact.rules, lengths)}"
    if fact.searched.proven == "all":
        tube = f"{tube} is free"
    else:
        tube = f"{tube} was found: {_looked(fact.searched, fact.rules)}"
    if not fact.near:
        return tube
    first, *others = fact.near[:MOST_NAMED]
    told = [too_near_words(first, lengths)]
    told += [f"{lengths.brief(one.by)} to {one.name}" for one in others]
    more = len(fact.near) - MOST_NAMED
    told += [f"less to {more} more"] if more > 0 else []
    kind = counted(fact.bends, "bend") if fact.bends else "straight"
    return f"{tube}; the simplest ({kind}) comes {listed(told)}"


def _stock_too_short(fact: StockTooShort, lengths: Lengths) -> str:
    return (
        "the shortest tube that was found needs a blank of "
        f"{lengths.brief(fact.blank)}, trim allowance included, and the stock is "
        f"{lengths.brief(fact.stock_length)} long: "
        f"{lengths.brief(fact.blank - fact.stock_length)} short"
    )


def _out_of_range(fact: OutOfRange, _: Lengths) -> str:
    found, limit = degrees(fact.angle_deg), degrees(fact.limit_deg)
    if fact.angle_deg > fact.limit_deg:
        return (
            f"bend_range allows no bend sharper than {limit}, and one tube has {found}"
        )
    return (
        f"of three bends or more bend_range allows none slighter than {limit}, and one "
        f"tube has {found}"
    )


def _none_in_empty_case(fact: NoneInEmptyCase, lengths: Lengths) -> str:
    tube = f"no tube of {_within(fact.rules, lengths)}"
    ports = f"from {fact.ports[0]} to {fact.ports[1]}"
    if fact.searched.proven == "all":
        return f"even in the empty case there is {tube} {ports}"
    told = _looked(fact.searched, fact.rules)
    return f"even in the empty case {tube} was found {ports}: {told}"


def _looked(searched: Searched, rules: RulesAsked) -> str:
    """Return what a search that found nothing has looked at, and what it proves."""
    proven = "none with at most 1 bend is free"
    if searched.proven == "square":
        proven = "none with square turns is free"
    turns = ", whatever their turns," if rules.turn_step_deg == "any" else ""
    more = ", and none with more" if searched.bends < rules.max_bends else ""
    return (
        f"{proven}; of the others the likeliest with up to {searched.bends} bends{turns} "
        f"were tried{more}"
    )


def _within(rules: RulesAsked, lengths: Lengths) -> str:
    """Return the rules that a tube keeps to, in words that follow 'a tube of'."""
    asked_deg, step_deg = rules.bend_angles_deg, rules.turn_step_deg
    least_deg = least_bend_deg(rules.bend_range, rules.max_bends)
    of_angle = any_angle((least_deg, rules.bend_range[1]))
    if asked_deg != "any":
        of_angle = angles(asked_deg)
    turns = ""
    if step_deg != "any":
        turns = f" with turns in multiples of {degrees(step_deg)}"
    return (
        f"at most {counted(rules.max_bends, 'bend')} of {of_angle}{turns}, "
        f"{lengths.brief(rules.bend_radius)} radius and "
        f"{lengths.brief(rules.clearance)} clearance"
    )


# -------------------------------------------------------------------- what would give one


def _suggestion(remedy: Suggestion, lengths: Lengths) -> str:
    first, *more = remedy.changes
    told = listed([change_in_words(change, lengths) for change in remedy.changes])
    if remedy.too_little is not None:
        told += f" ({_how_little(remedy, lengths)})"
    if more:
        return f"with {told} together"
    if first.rule == "clearance" and remedy.near:
        return f"with {told} ({some_of(remedy.near, most=MOST_NAMED)} in the way)"
    if first.rule == "bend angles" and remedy.bends:
        return f"with {told} ({_angles_used(remedy.angles_deg)})"
    if first.rule == "turn step":
        return f"with {told} ({counted(remedy.bends, 'bend')})"
    return f"with {told}"


def _how_little(remedy: Suggestion, lengths: Lengths) -> str:
    """Return what is not enough, where it is not known how much less is."""
    last = replace(remedy.changes[-1], after=remedy.too_little)
    told = "less may do: it was not tried how little"
    if last.after == last.before:
        return told
    return f"{told}, but that {change_in_words(last, lengths)} is not enough"


def _angles_used(angles_deg: Sequence[float]) -> str:
    """Return the angles of a route's bends.

    >>> _angles_used((52.04, 52.0)), _angles_used((45.0, 90.0))
    ('2 of 52 degrees', '45 and 90 degrees')
    """
    texts = [short(angle_deg) for angle_deg in angles_deg]
    if len(texts) > 1 and len(set(texts)) == 1:
        return f"{len(texts)} of {texts[0]} degrees"
    return f"{listed(texts)} degrees"


# ------------------------------------------------------------------------- all of them

_WORDS: Final[Mapping[type, str | Callable[[Any, Lengths], str]]] = MappingProxyType(
    {
        Reason: _reason,
        ElbowsBlocked: f"each of the {SWIVELS} positions of the elbow on "
        "{every_port} that were tried comes nearer than {clearance} to something; "
        "offer a straight fitting there, or a shorter elbow",
        NoPortsLeft: _no_ports_left,
        NotRouted: "the search was stopped before this run was routed; route again to "
        "have it",
        NotExplained: "none was found; the search was stopped before it was looked into "
        "what stands in the way: route again, or this run alone with --run",
        NoPlace: _no_place,
        LoopRemedy: loop_remedy_in_words,
        LoopRemedies: loop_remedies_in_words,
        StraightBlocked: "the first {length} of tube from {port} come {near}",
        BendBlocked: "after the first {length} from {port} a bend of {angles_deg} and "
        "{bend_radius} radius comes {near}, to each of the {sides} sides that "
        "were tried",
        CannotTurn: "from {ports[0]} to {ports[1]} the tube turns through {through_deg} "
        "in all, which at most {max_bends} of {angles_deg} cannot do",
        Askew: "{ports[0]} and {ports[1]} stand at {angle_deg} to each other, which bends "
        "of 90 degrees meet only where they are rolled out of square",
        FacingTooNear: "the tube ends in {ports[0]} and {ports[1]} are {there_is} apart, "
        "and a tube needs {needed} of straight there",
        FacingBlocked: "the straight tube between {ports[0]} and {ports[1]} comes {near}",
        OffsetTooNarrow: "two {bend}s need {needed} between the ports' axes, "
        "and there are {there_is}",
        OffsetTooShort: "two {bend}s with their straights need {needed} "
        "along the ports' axes, and there are {there_is} between the tube ends",
        ReturnTooNarrow: _return_too_narrow,
        OutOfLine: _out_of_line,
        CornerTooNear: "one {bend} needs {needed} from the tube end in {port} "
        "to where the ports' axes cross, and there are {there_is}",
        OutOfRange: _out_of_range,
        NoneInEmptyCase: _none_in_empty_case,
        NoneFound: _none_found,
        StockTooShort: _stock_too_short,
        OtherPort: lambda remedy, _: other_port_in_words(remedy),
        OtherFitting: 'with the fitting "{fitting}" on {port}',
        Suggestion: _suggestion,
    }
)
"""How each sort of piece is told: a sentence with its fields, or what makes one."""
