"""What no scene can tell of a plan, and the sum that vouches for it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from loopsolver.plan.document import PlanDocument, RunDocument

UNTOLD: Final[Mapping[str, str]] = MappingProxyType(
    {
        "loop": "how good the choice is and how the search ended",
        "why": "why runs have no tube and what would help",
        "in_the_way": "which tubes are in their way",
        "refused": "how many routes failed the check after the search",
    }
)
"""What of a plan no scene can tell, by key, in words.

`loop` holds what was to be least, the total, its bound, whether it is proven, and how
many rounds and routes there were; the others stand in each run. They are facts only as
long as the plan's sum is that of what stands in it. All else is judged afresh.
"""

NOT_SHOWN: Final = (
    "the reason in the plan is not shown, as the plan was edited; `loopsolver route` "
    "looks for it again"
)
"""Stands for the reason why a run has no tube where nothing vouches for the reason."""

CHANGED_SINCE: Final = (
    "left out when the plan was routed; choices were changed by hand since: `loopsolver "
    "route` says what is in the way now"
)
"""Stands for such a reason where other candidates are chosen now."""


def sum_of(plain: Mapping[str, Any]) -> str:
    """Return the SHA-256 of all that stands in a plan file but what was chosen.

    Neither spaces, the order of keys, nor how a number is written change it: 28 is 28.0.

    Parameters
    ----------
    plain : mapping
        The plan as JSON values; its own "sum" is left out.
    """
    rest = {key: value for key, value in plain.items() if key != "sum"}
    runs = rest.get("runs")
    if isinstance(runs, list):
        rest["runs"] = [
            {key: value for key, value in run.items() if key != "chosen"}
            if isinstance(run, dict)
            else run
            for run in runs
        ]
    floats = json.loads(json.dumps(rest), parse_int=float)
    text = json.dumps(floats, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def without_untold(document: PlanDocument) -> PlanDocument:
    """Return what stands in a plan file less all that no scene can tell."""
    return document.model_copy(
        update={"loop": None, "runs": tuple(_bare(run) for run in document.runs)}
    )


def _bare(run: RunDocument) -> RunDocument:
    why = None if run.why is None else NOT_SHOWN
    return run.model_copy(update={"why": why, "in_the_way": (), "refused": 0})


def with_choices_changed(document: PlanDocument) -> PlanDocument:
    """Return what stands in a plan file whose choices are others than `route` made."""
    runs = tuple(
        run.model_copy(update={"why": CHANGED_SINCE, "in_the_way": ()})
        if run.candidates and run.why is not None
        else run
        for run in document.runs
    )
    return document.model_copy(update={"runs": runs})
