"""What a plan lacks or does not show, in words."""

from __future__ import annotations

from collections.abc import Iterator

from loopsolver.plan import Plan, PlannedRun
from loopsolver.plan.untold import UNTOLD
from loopsolver.words import quoted

NO_REASON = "no reason was kept"


def missing_words(plan: Plan) -> Iterator[str]:
    """Yield which tubes that the scene wants a plan does not hold."""
    if plan.missing:
        noun = "run" if len(plan.missing) == 1 else "runs"
        yield f"leaves out {noun} {quoted(plan.missing)} of the scene"
    if plan.unlinked:
        yield f"holds no tube from {', '.join(plan.unlinked)} on, as the loop wants it"


def not_shown_words() -> str:
    """Return what is not shown of a plan that was edited by hand."""
    return (
        "edited by hand, or written by an older loopsolver: what is shown was judged "
        f"afresh; not shown, as no scene can tell it: {'; '.join(UNTOLD.values())}"
    )


def unchosen_words(run: PlannedRun) -> str:
    """Return that a run has no chosen tube, and the first reason why."""
    why = (run.why or NO_REASON).splitlines()[0].rstrip(";")
    return f"no tube is chosen for run {run.name!r}: {why}"


def why_lines(run: PlannedRun) -> tuple[str, ...]:
    """Return why a run has no chosen tube; then, a line each, what would help."""
    verdict = "not chosen" if run.candidates else "no route"
    why, *possible = (run.why or NO_REASON).splitlines()
    return (f"{verdict}: {why}", *possible)
