"""The search in its own process: what it tells, what stops it, what ends it."""

from __future__ import annotations

import os
import signal
import time
from dataclasses import replace

import pytest

from loopsolver.plan import Plan
from loopsolver.report.planning import route_scene
from loopsolver.routing.control import RunRouted, RunStarted
from loopsolver.view.search_process import Doubtful, Failed, SearchProcess
from tests.builders.scenes import part, port, scene, wanted
from tests.commands import PATIENCE

SCENE = scene(
    part("pump", port("pump.out", (100.0, 60.0, 100.0), "+y")),
    part("card", port("card.in", (200.0, 300.0, 100.0), "-y")),
    inner=(300.0, 400.0, 300.0),
    title="Siskin",
    runs=[wanted("pump to card", "pump.out", "card.in")],
)
LATER = replace(SCENE, rules=replace(SCENE.rules, clearance=4.0))


@pytest.fixture
def search():
    begun = SearchProcess()
    yield begun
    begun.close()


def news_until(search, is_last):
    """All it tells, up to what is waited for."""
    told = []
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        told += search.news()
        if told and is_last(told[-1]):
            return told
        time.sleep(0.01)
    pytest.fail("the search never told what was waited for")


def is_plan(news):
    return isinstance(news, Plan)


def test_it_tells_doubts_then_each_run_then_the_plan_that_route_finds(search):
    search.begin(SCENE)
    told = news_until(search, is_plan)
    kinds = [type(one) for one in told]
    assert kinds[:3] == [Doubtful, RunStarted, RunRouted]
    assert told[-1] == route_scene(SCENE)
    assert told[2].candidates[0] in told[-1].runs[0].candidates
    # Then of the next scene, by the same process.
    search.begin(LATER)
    later = news_until(search, is_plan)
    assert later[-1].scene == LATER
    assert type(later[0]) is Doubtful


def test_another_scene_stops_the_search_and_nothing_is_told_of_the_one_before(search):
    search.begin(SCENE)
    assert search._pipe.recv() == "ready"
    search._pipe.send((1, (SCENE, {})))
    assert search._pipe.poll(PATIENCE)  # it has told something that nobody has read
    for _ in range(5):
        search.begin(SCENE)
    search.begin(LATER)
    told = news_until(search, is_plan)
    assert told[-1].scene == LATER
    assert sum(isinstance(one, Doubtful) for one in told) == 1
    assert [type(one) for one in told].count(Plan) == 1


def test_a_search_that_fails_is_told_and_the_next_scene_is_searched(search):
    broken = replace(SCENE, runs=(wanted("no port", "pump.out", "card.nowhere"),))
    search.begin(broken)
    (*_, failed) = news_until(search, lambda news: isinstance(news, Failed))
    assert "no port 'card.nowhere'" in failed.why
    search.begin(SCENE)
    assert news_until(search, is_plan)[-1].scene == SCENE


def test_a_process_that_dies_is_told_and_the_next_scene_has_another(search):
    search.begin(SCENE)
    news_until(search, is_plan)
    search._process.kill()
    assert news_until(search, lambda _: True) == [Failed(why="its process has ended")]
    assert list(search.news()) == []
    search.begin(LATER)
    assert news_until(search, is_plan)[-1].scene == LATER


def test_ctrl_c_is_for_the_window_and_the_process_ends_with_it():
    search = SearchProcess()
    search.begin(SCENE)
    news_until(search, is_plan)
    number = search._process.pid
    assert number is not None
    os.kill(number, signal.SIGINT)
    search.begin(LATER)
    assert news_until(search, is_plan)[-1].scene == LATER
    assert search._process.pid == number
    search._pipe.close()  # as the system does when the window's process ends
    search._process.join(PATIENCE)
    assert search._process.exitcode == 0
