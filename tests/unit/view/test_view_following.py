"""What is known while a file is followed: from save to save, from news to news."""

from __future__ import annotations

from dataclasses import replace

from loopsolver.errors import Fault
from loopsolver.plan import Plan
from loopsolver.routing.control import Explaining, RoundDone, RunRouted, RunStarted
from loopsolver.scene.doubt import Doubt
from loopsolver.view.following import Following, after_news, after_save
from loopsolver.view.news_lines import news_section
from loopsolver.view.search_process import Doubtful, Failed
from loopsolver.view.selection import (
    ViewSelection,
    carried_over,
    first_selection,
    scene_of,
)
from tests.builders import demo_build
from tests.builders.plans import candidate, ending

CARD = candidate(
    (100.0, 292.0, 30.0),
    (100.0, 230.0, 30.0),
    (100.0, 230.0, 185.0),
    ends=(
        ending("pump.out", (0.0, -1.0, 0.0), (100.0, 280.0, 30.0)),
        ending("card.in", (1.0, 0.0, 0.0), (140.0, 230.0, 185.0)),
    ),
)
BETTER = replace(CARD, trim_allowance=31.0)
SCENE = demo_build.scene()
LATER = replace(SCENE, rules=replace(SCENE.rules, clearance=4.0))


def plan_of(now) -> Plan:
    """What is shown, where that is a plan."""
    assert isinstance(now.subject, Plan)
    return now.subject


def words(now):
    return [line.text for line in news_section(now).lines]


def test_at_first_every_run_is_pending_and_nothing_is_old():
    now = Following(scene=SCENE)
    assert now.pending == set(demo_build.ENDS)
    assert now.old == ()
    assert [run.name for run in plan_of(now).runs] == [*demo_build.ENDS]
    assert all(not run.candidates for run in plan_of(now).runs)


def test_a_run_that_was_routed_is_shown_before_the_others():
    now = after_news(Following(scene=SCENE), RunStarted(name="x", number=2, count=5))
    assert words(now)[-1] == "routing x (2 of 5)"
    now = after_news(now, RunRouted(name="pump to card", candidates=(CARD,)))
    assert "pump to card" not in now.pending
    assert plan_of(now).run("pump to card").chosen_candidate == CARD
    assert plan_of(now).run("card to block").candidates == ()
    # A run without any is told of once its reason is known.
    still = after_news(now, RunRouted(name="card to block", candidates=()))
    assert still.pending == now.pending


def test_a_better_choice_takes_the_place_of_the_first():
    now = after_news(
        Following(scene=SCENE), RunRouted(name="pump to card", candidates=(CARD,))
    )
    now = after_news(now, RoundDone(rounds=3, best=(BETTER,)))
    run = plan_of(now).run("pump to card")
    assert run.chosen_candidate == BETTER
    assert run.candidates == (BETTER, CARD)
    assert words(now)[-1] == "best so far for 1 run, after 3 rounds"


def test_after_a_save_tubes_are_old_until_their_run_is_routed_again():
    plan = demo_build.plan()
    now = after_news(Following(scene=SCENE), plan)
    assert now.pending == frozenset()
    with_tube = {run.name for run in plan.runs if run.chosen_candidate is not None}
    now = after_save(now, LATER)
    assert now.changes == ("clearance 4.0 mm instead of 3.0 mm",)
    assert {*now.before} == with_tube
    assert len(now.old) == len(with_tube)
    was = plan.run("pump to card").chosen_candidate
    assert was in now.old
    now = after_news(now, RunRouted(name="pump to card", candidates=(CARD,)))
    assert was not in now.old
    assert len(now.old) == len(with_tube) - 1
    # A second save before all were found: the newest that is known of each run is old.
    now = after_save(now, SCENE)
    assert now.before["pump to card"] == CARD
    assert {*now.before} == with_tube
    ended = after_news(now, Plan(scene=SCENE, runs=plan.runs))
    assert ended.old == ()
    assert "pump to card: " in " ".join(ended.tubes)
    assert f"{len(with_tube) - 1} tubes as before" in ended.tubes


def test_the_tube_of_a_run_that_is_gone_is_gone():
    now = after_news(Following(scene=SCENE), demo_build.plan())
    now = after_save(now, replace(SCENE, runs=SCENE.runs[1:]))
    assert "run pump to card is gone" in now.changes
    assert demo_build.plan().run("pump to card").chosen_candidate not in now.old


def test_where_the_order_is_free_all_tubes_are_old_until_the_end():
    """Which runs there are is known when the search is over."""
    now = Following(scene=replace(SCENE, runs=()), before={"a": CARD})
    assert now.old == (CARD,)
    assert now.subject == now.scene
    now = after_news(now, RunRouted(name="a", candidates=(CARD,)))
    assert now.old == (CARD,)


def test_a_save_that_no_tube_feels_keeps_the_tubes():
    now = after_news(Following(scene=SCENE), demo_build.plan())
    renamed = replace(SCENE, title="Plover")
    after = after_save(replace(now, faults=(FAULT,)), renamed)
    assert plan_of(after).runs == plan_of(now).runs
    assert scene_of(after.subject).title == "Plover"
    assert after.faults == ()
    assert words(after)[1:] == [
        "changed by the last save",
        "  nothing that a tube could feel",
    ]
    assert after.old == ()
    # While it is searched, what the save before changed is still what is told.
    begun = after_save(now, LATER)
    assert after_save(begun, replace(LATER, title="Plover")).changes == begun.changes
    # The plan of a search that began before has the scene of now.
    found = after_news(after_save(Following(scene=SCENE), renamed), demo_build.plan())
    assert plan_of(found).scene == renamed


FAULT = Fault(
    file="teal.toml",
    line=12,
    key_path="rules.clearance",
    found='"three"',
    wanted="a length",
)


def test_faults_are_told_with_their_lines_beside_what_is_shown():
    now = replace(Following(scene=SCENE), faults=(FAULT,) * 5)
    told = words(now)
    assert told[1] == "the file cannot be used as it stands"
    line = '  line 12: rules.clearance: found "three"; wanted a length'
    assert " ".join(told[2:4]).split() == line.split()
    assert "  and 2 more: `check` tells them" in told
    assert plan_of(now).scene == SCENE


def test_doubts_and_failures_are_told():
    doubt = Doubt(kind="overlap", where="pump, tank", message="overlap by 3 mm")
    now = after_news(Following(scene=SCENE), Doubtful(doubts=(doubt, doubt)))
    assert words(now)[-2:] == ["1 thing to look at again", "  pump, tank: overlap"]
    now = after_news(now, Explaining(name="x"))
    assert "trying what would help x" in words(now)
    now = after_news(now, Failed(why="its process has ended"))
    assert "the search failed: its process has ended" in " ".join(words(now))


def test_the_run_that_is_looked_at_is_kept_by_its_name():
    plan = demo_build.plan()
    second = first_selection(plan, run=plan.runs[1].name, candidate=None)
    hidden = replace(second, hidden=frozenset({"bodies"}))
    fewer = replace(plan, runs=plan.runs[1:])
    assert carried_over(plan, hidden, fewer) == replace(hidden, run=0)
    # The candidate is kept where the run has the same ones; else it is the chosen one.
    looked = ViewSelection(run=0, rank=2)
    assert carried_over(plan, looked, plan).rank == 2
    first = replace(plan.runs[0], candidates=plan.runs[0].candidates[:1])
    other = replace(plan, runs=(first, *plan.runs[1:]))
    assert carried_over(plan, looked, other).rank == 1
    assert carried_over(plan, looked, demo_build.scene()).rank is None
    nothing = replace(demo_build.scene(), runs=())
    assert carried_over(plan, looked, nothing).run == 0
    assert carried_over(nothing, ViewSelection(run=0, rank=None), plan).rank == 1
