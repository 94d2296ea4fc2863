"""All that is told of a run's candidates side by side: their table, and what to heed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from loopsolver.lengths import lengths_for
from loopsolver.plan.model import AS_BUILT
from loopsolver.report.bench import bench_remarks
from loopsolver.report.comparing import (
    built_remarks,
    candidate_table,
    comparison_remarks,
)
from loopsolver.report.fit import Fits, chance_document, fits
from loopsolver.report.loop import effect_remarks, effect_words
from loopsolver.report.purposes import purpose_remarks
from loopsolver.report.stock import stock_remarks

if TYPE_CHECKING:
    from loopsolver.plan import Effect, Plan, PlannedRun
    from loopsolver.report.drops import Drops
    from loopsolver.report.text_table import TextTable


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What stands beside the candidates' own figures.

    Attributes
    ----------
    found : sequence of Effect
        What choosing each would do to the other runs.
    drops : Drops or None
        What its tube takes of the pressure.
    fits : Fits
        How likely it goes in.
    """

    found: Sequence[Effect] = ()
    drops: Drops | None = None
    fits: Fits = field(default_factory=Fits)

    def documents(self) -> dict[tuple[str, int], dict[str, Any]]:
        """Return it as plain JSON values, by run and rank."""
        told: dict[tuple[str, int], dict[str, Any]] = {}
        for effect in self.found:
            told[effect.run, effect.rank] = {"others": _effect_document(effect)}
        for place, band in self.drops.bands.items() if self.drops else ():
            drop = {"least": band.low, "main": band.main, "most": band.high}
            told.setdefault(place, {})["drop"] = drop
        for place, chance in self.fits.chances.items():
            told.setdefault(place, {})["fit"] = chance_document(chance)
        return told

    def effects_of(self, run: PlannedRun) -> list[Effect]:
        """Return what choosing each candidate of a run would do."""
        return [effect for effect in self.found if effect.run == run.name]


ALONE: Final = Beside()
"""Nothing beside them."""


def beside(plan: Plan, runs: Sequence[PlannedRun]) -> Beside:
    """Return all that there is to be told beside the candidates of some runs of a plan."""
    from loopsolver.plan import effects
    from loopsolver.report.drops import drops

    return Beside(
        found=effects(plan) if len(plan.runs) > 1 else (),
        drops=drops(plan),
        fits=fits(plan, {run.name: run.ranks for run in runs}),
    )


def side_by_side_table(
    plan: Plan, run: PlannedRun, order: Sequence[int], *, more: Beside
) -> TextTable:
    """Return a run's candidates as a table, in the order of their ranks; a built one first.

    `more` is what stands beside their own figures.
    """
    return candidate_table(
        run,
        order if run.built is None else (AS_BUILT, *order),
        lengths_for(plan.scene.units),
        others={one.rank: effect_words(one) for one in more.effects_of(run)},
        drops=more.drops.cells(run.name) if more.drops else {},
        fits=more.fits.cells(run.name),
    )


def side_by_side_remarks(
    plan: Plan, run: PlannedRun, order: Sequence[int], *, more: Beside
) -> Iterator[tuple[str, list[str]]]:
    """Yield what sets a run's candidates apart: a heading, maybe empty, and sentences."""
    scene, lengths = plan.scene, lengths_for(plan.scene.units)
    yield "", list(built_remarks(scene, run, lengths=lengths))
    yield "What each is for:", list(purpose_remarks(scene, run, order))
    if run.chosen is not None and len(order) > 1:
        against = f"Against candidate {run.chosen}:"
        yield against, list(comparison_remarks(run, order, lengths=lengths))
    yield "", list(stock_remarks(run, order, tube=scene.tube, lengths=lengths))
    yield "", list(bench_remarks(scene, run, order, lengths=lengths))
    yield "", list(effect_remarks(more.effects_of(run)))


def _effect_document(effect: Effect) -> dict[str, Any]:
    """Return an effect as plain JSON values."""
    return {
        "fits": effect.moved is not None,
        "moves": [
            {"run": name, "candidate": rank} for name, rank in effect.moved or ()
        ],
    }
