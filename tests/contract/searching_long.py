"""Run by a test: searches that never end, in processes, of which it tells the numbers."""

from __future__ import annotations

import os
import signal
import sys
import time
from dataclasses import replace

from loopsolver.cli.stopping import noted_stop
from loopsolver.routing import processes
from loopsolver.routing.control import Control
from loopsolver.routing.problem import Found, RouteProblem
from loopsolver.routing.processes import search_ahead
from loopsolver.routing.solve import problems_of
from tests.builders.ring_cases import ring
from tests.builders.scenes import wanted

CHILDREN = 2


def endless(problem: RouteProblem) -> Found:
    """The first ends at once; the others tell their process and stay."""
    if problem.max_bends:
        os.write(sys.stdout.fileno(), f"{os.getpid()}\n".encode())
        time.sleep(600.0)
    return Found(candidates=())


if __name__ == "__main__":
    # A shell's background work begins with this signal ignored, and so do its children.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    scene = ring(2, parts=2, flow="in and out")
    run = wanted("on", "part 0.out", "part 1.in")
    (problem,) = problems_of(scene, run)
    processes.START = 0.0
    with noted_stop() as stopped:
        control = Control(stopped=stopped, jobs=CHILDREN)
        tasks = [(replace(problem, max_bends=bends), endless) for bends in range(4)]
        search_ahead(tasks, control)
