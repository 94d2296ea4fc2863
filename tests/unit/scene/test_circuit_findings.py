"""The loop as a graph: loops drawn by hand, and any small one against plain search.

The search here knows no graph library: a tube is on a circuit if its two ends are still
joined without it, and on a directed one if its far end leads back to its near end.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import networkx as nx
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from loopsolver.report.scene_summary import circuit_sentences
from loopsolver.scene.circuit import Branch, Circuit, circuit
from loopsolver.scene.doubts import doubts
from loopsolver.scene.model import (
    Component,
    LoopRequest,
    RunRequest,
    Scene,
    built_in_fitting,
)
from tests.builders.scenes import part, port, scene, tube, wanted

TUBE = tube(material="petg")

Edge = tuple[str, str]


def spread(name: str, ports: int) -> Component:
    """Return a component with ports called after their number, and no body."""
    return part(
        name,
        *(
            port(
                f"{name}.{number}",
                (0.0, 0.0, 0.0),
                "+x",
                fittings=(built_in_fitting(TUBE.outer_diameter),),
            )
            for number in range(1, ports + 1)
        ),
    )


def drawn(parts: str, edges: str | list[Edge], *, ports: int = 4) -> Scene:
    """Return a scene of parts with names of one letter, and tubes such as "ab bc"."""
    pairs = (
        [(each[0], each[1]) for each in edges.split()]
        if isinstance(edges, str)
        else edges
    )
    components = tuple(spread(name, ports) for name in parts)
    names = {each.name: tuple(port.name for port in each.ports) for each in components}
    return scene(
        *components,
        inner=(300.0, 300.0, 300.0),
        tube=TUBE,
        runs=[
            wanted(f"{number} {start}{goal}", names[start], names[goal])
            for number, (start, goal) in enumerate(pairs, start=1)
        ],
    )


def found(parts: str, edges: str) -> Circuit:
    return circuit(drawn(parts, edges))


def circuit_doubts_of(of: Scene) -> list[str]:
    return [doubt.where for doubt in doubts(of) if doubt.kind == "circuit"]


# --------------------------------------------------------------------- drawn by hand


def test_one_closed_circuit():
    closed = found("abcd", "ac cb ba")
    assert closed.is_closed
    assert closed.circuits == (("a", "c", "b"),)
    assert closed.left_out == ("d",)
    assert closed.dead_ends == closed.turned == ()
    assert closed.branches == ()


def test_there_and_back_is_a_circuit():
    closed = found("ab", "ab ba")
    assert closed.is_closed
    assert closed.circuits == (("a", "b"),)
    assert closed.turned == ()


def test_twice_there_leads_not_back():
    assert found("ab", "ab ab").turned == ("2 ab",)


def test_a_chain_is_no_circuit_and_its_ends_are_named():
    chain = drawn("abcd", "ab bc cd")
    open_ended = circuit(chain)
    assert not open_ended.is_closed
    assert open_ended.circuits == ()
    assert open_ended.hanging == ("a", "d")
    assert open_ended.dead_ends == ("1 ab", "2 bc", "3 cd")
    assert circuit_sentences(chain, open_ended) == (
        "not closed: a, d have one tube only",
    )
    assert circuit_doubts_of(chain) == ["circuit"]
    assert circuit_doubts_of(drawn("abcd", "ab bc")) == []  # tried by themselves


def test_one_run_the_wrong_way_round():
    closed = found("abcd", "ab cb cd da")
    assert closed.is_closed
    assert closed.circuits == (("a", "b", "c", "d"),)
    assert closed.turned == ("2 cb",)
    assert circuit_doubts_of(drawn("abcd", "ab cb cd da")) == ["run '2 cb'"]


def test_a_line_to_drain_by_hangs_on_the_circuit():
    closed = found("abcd", "ab bc ca bd")
    assert closed.is_closed
    assert closed.dead_ends == ("4 bd",)
    assert closed.hanging == ("d",)
    assert circuit_doubts_of(drawn("abcd", "ab bc ca bd")) == ["d"]
    assert circuit_doubts_of(drawn("abcd", "ab bc ca bd", ports=1)) == []


def test_branches_side_by_side():
    # from a through b or through c to d, and back
    split = found("abcd", "ab ac bd cd da")
    assert not split.is_closed
    assert split.circuits == (("a", "b", "c", "d"),)
    assert set(split.branches) == {
        Branch(parts=("a", "b", "d"), runs=("1 ab", "3 bd")),
        Branch(parts=("a", "c", "d"), runs=("2 ac", "4 cd")),
        Branch(parts=("d", "a"), runs=("5 da",)),
    }
    assert split.turned == split.dead_ends == ()
    words = circuit_sentences(drawn("abcd", "ab ac bd cd da"), split)
    assert "side by side" in words[0]
    assert "a - c - d by '2 ac', '4 cd'" in words[1]


def test_two_rounds_from_one_part():
    split = found("abc", "ab ba ac ca")
    assert set(split.branches) == {
        Branch(parts=("a", "b", "a"), runs=("1 ab", "2 ba")),
        Branch(parts=("a", "c", "a"), runs=("3 ac", "4 ca")),
    }


def test_a_branch_with_no_way_back():
    # b to c is written from b, which nothing leads into
    split = found("abcd", "ac cd da ba bc")
    assert split.turned == ("4 ba", "5 bc")


def test_two_circuits_apart_and_two_joined_by_one_tube():
    apart = found("abcd", "ab ba cd dc")
    assert apart.circuits == (("a", "b"), ("c", "d"))
    assert not apart.is_closed
    joined = found("abcd", "ab ba cd dc bc")
    assert joined.circuits == apart.circuits
    assert joined.dead_ends == ("5 bc",)
    assert circuit_doubts_of(drawn("abcd", "ab ba cd dc")) == ["circuits"]


def test_a_run_to_its_own_part():
    own = found("ab", "aa ab ba")
    assert own.to_itself == ("1 aa",)
    assert own.is_closed


def test_nothing_at_all():
    nothing = found("ab", "")
    assert nothing.left_out == ("a", "b")
    assert nothing.circuits == ()
    assert circuit_sentences(drawn("ab", ""), nothing)[0].startswith("none")
    assert circuit_doubts_of(drawn("ab", "")) == []


def test_a_choice_of_parts_leaves_it_open():
    sketch = drawn("abc", "ab ba")
    choice = RunRequest(name="x", from_ports=("a.1",), to_ports=("b.1", "c.1"))
    left_open = circuit(_with(sketch, (*sketch.runs, choice)))
    assert left_open.open == ("x",)
    assert not left_open.is_closed
    assert left_open.left_out == ()


def test_a_part_that_one_tube_surely_ends_at_is_told_with_that_tube_alone():
    """The tube that goes from ``c`` to itself ends there too, and brings no coolant on."""
    sketch = drawn("abc", "ab ba bc cc")
    (told,) = [
        one for one in doubts(sketch) if (one.kind, one.where) == ("circuit", "c")
    ]
    assert told.message.startswith("only the run '3 bc' ends here")


def test_no_part_is_called_an_end_that_a_choice_of_ports_may_lead_on_from():
    sketch = drawn("abcd", "ab ba bc")
    assert "c" in circuit_doubts_of(sketch)
    choice = RunRequest(name="x", from_ports=("c.1", "d.1"), to_ports=("a.1",))
    assert "c" not in circuit_doubts_of(_with(sketch, (*sketch.runs, choice)))


@pytest.mark.parametrize("runs", ["", "ac", "cb ba", "ba", "ca ab bd"])
def test_a_loop_in_any_order_is_closed_along_its_own_runs(runs: str):
    sketch = drawn("abcd", runs)
    whole = circuit(_with(sketch, sketch.runs, loop=LoopRequest(order="any")))
    assert whole.is_closed
    assert whole.turned == ()
    (parts,) = whole.circuits
    assert sorted(parts) == list("abcd")
    around = {
        f"{one}{other}" for one, other in zip(parts, parts[1:] + parts[:1], strict=True)
    }
    assert set(runs.split()) <= around


def _with(
    of: Scene, runs: tuple[RunRequest, ...], *, loop: LoopRequest | None = None
) -> Scene:
    return replace(of, runs=runs, loop=loop)


# -------------------------------------------------------------- against plain search

NODES = "abcde"
EDGES = st.lists(
    st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)).filter(
        lambda edge: edge[0] != edge[1]
    ),
    max_size=9,
)


def reached(start: str, links: list[Edge]) -> set[str]:
    """Return the nodes to which links lead, the way they are written."""
    seen, waiting = {start}, [start]
    while waiting:
        here = waiting.pop()
        onward = {goal for near, goal in links if near == here} - seen
        seen |= onward
        waiting += onward
    return seen


def both_ways(edges: list[Edge]) -> list[Edge]:
    return [*edges, *((goal, start) for start, goal in edges)]


@settings(derandomize=True, deadline=None, max_examples=100)
@given(EDGES)
def test_dead_ends_are_the_bridges_and_turned_runs_leave_strong_components(
    edges: list[Edge],
):
    """As networkx has them."""
    names = [f"{number} {a}{b}" for number, (a, b) in enumerate(edges, start=1)]
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for name, edge in zip(names, edges, strict=True):
        graph.add_edge(*edge, key=name)
    bridges = {name for one in nx.bridges(graph) for name in graph[one[0]][one[1]]}
    result = circuit(drawn(NODES, edges))
    assert set(result.dead_ends) == bridges
    core = [
        edge for name, edge in zip(names, edges, strict=True) if name not in bridges
    ]
    strong = list(nx.strongly_connected_components(nx.DiGraph(core)))
    divided = {run for branch in result.branches for run in branch.runs}
    assert divided & set(result.turned) == {
        name
        for name, edge in zip(names, edges, strict=True)
        if name in divided and not any(set(edge) <= part for part in strong)
    }


@settings(derandomize=True, deadline=None, max_examples=300)
@given(EDGES)
@example([("a", "b"), ("b", "c"), ("c", "a"), ("d", "c"), ("b", "d")])
def test_any_small_loop_is_what_plain_search_says(edges: list[Edge]):
    names = [f"{number} {a}{b}" for number, (a, b) in enumerate(edges, start=1)]
    result = circuit(drawn(NODES, edges))
    on = [
        place
        for place, (start, goal) in enumerate(edges)
        if goal in reached(start, both_ways(edges[:place] + edges[place + 1 :]))
    ]
    core = [edges[place] for place in on]
    assert result.dead_ends == tuple(
        name for place, name in enumerate(names) if place not in on
    )
    pieces = {frozenset(reached(start, both_ways(core))) for start, _ in core}
    assert {frozenset(parts) for parts in result.circuits} == pieces
    assert len(result.circuits) == len(pieces)
    degree = Counter(node for edge in core for node in edge)
    plain = [piece for piece in pieces if all(degree[node] == 2 for node in piece)]
    assert result.is_closed == (len(pieces) == len(plain) == 1)
    divided = [place for place in on if not any(edges[place][0] in p for p in plain)]
    assert result.left_out == tuple(
        node for node in NODES if not any(node in edge for edge in edges)
    )
    _assert_branches(result, {names[place] for place in divided}, degree)
    _assert_turned(result, names, edges, on, divided)


def _assert_branches(result: Circuit, divided: set[str], degree: Counter[str]) -> None:
    walked = [run for branch in result.branches for run in branch.runs]
    assert sorted(walked) == sorted(divided)
    for branch in result.branches:
        assert degree[branch.parts[0]] > 2
        assert degree[branch.parts[-1]] > 2
        assert all(degree[node] == 2 for node in branch.parts[1:-1])
        for one, other, run in zip(
            branch.parts, branch.parts[1:], branch.runs, strict=False
        ):
            assert {one, other} == set(run.split()[1])


def _assert_turned(
    result: Circuit,
    names: list[str],
    edges: list[Edge],
    on: list[int],
    divided: list[int],
) -> None:
    core = [edges[place] for place in on]
    lost = {
        names[place]
        for place in divided
        if edges[place][0] not in reached(edges[place][1], core)
    }
    assert {names[place] for place in divided} & set(result.turned) == lost
    turned = set(result.turned) - lost
    for parts in result.circuits:
        own = [p for p in on if p not in divided and edges[p][0] in parts]
        if own:  # a plain circuit: with those turned, it goes round
            mended = [edges[p][::-1] if names[p] in turned else edges[p] for p in own]
            assert all(start in reached(goal, mended) for start, goal in mended)
            assert len(Counter(start for start, _ in mended)) == len(own)
            assert 2 * sum(names[p] in turned for p in own) <= len(own)
