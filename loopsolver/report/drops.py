"""What each candidate's tube takes of the pressure, beside the other figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from loopsolver.errors import LoopsolverError
from loopsolver.hydraulics.band import Band
from loopsolver.hydraulics.loop_flow import loop_flow, states_flow
from loopsolver.hydraulics.passages import tube_loss
from loopsolver.report.flow import pointless, two_digits

if TYPE_CHECKING:
    from loopsolver.plan.file import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Drops:
    """What candidates take at the flow of the chosen ones.

    Attributes
    ----------
    bands : mapping
        By run and rank [kPa]; empty where no flow is stated.
    remarks : tuple of str
        What that means for choosing, or why there is none.
    """

    bands: Mapping[tuple[str, int], Band] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()

    def cells(self, run: str) -> dict[int, str]:
        """Return what a run's candidates take, in words, by rank."""
        return {
            rank: two_digits(band.main)
            for (name, rank), band in self.bands.items()
            if name == run
        }


def drops(plan: Plan) -> Drops:
    """Return what every candidate of a plan takes, if its scene states a flow.

    The flow is that of the chosen tubes: another tube would hardly change it.
    """
    if not states_flow(plan):
        return Drops()
    try:
        flow = loop_flow(plan)
    except LoopsolverError as error:
        return Drops(remarks=(f"no drop is shown: {error}",))
    bands: dict[tuple[str, int], Band] = {}
    for run in plan.runs:
        stage = flow.stage(run.name)
        if stage is None or stage.is_still:
            continue
        for rank, candidate in enumerate(run.candidates, start=1):
            taken = tube_loss(candidate, plan.scene).drop(abs(stage.flow), flow.state)
            bands[run.name, rank] = taken
    told = tuple(f"drop: {pointless(one)}" for one in flow.circuits)
    return Drops(bands=bands, remarks=told)
