"""Why a run is left out, in words: short when little is to be said, long when much is."""

from __future__ import annotations

from loopsolver.routing.loop.hindrance import Hindrance, InTheWay, Taken

NEAR = InTheWay(run="pump to card", gap=1.25, at=(10.4, 20.0, 30.0))
INTO = InTheWay(run="card to roof", gap=-14.0, at=(60.0, 150.0, 11.0))


def test_each_run_in_the_way_and_each_thing_that_helps() -> None:
    told = Hindrance(
        in_the_way=(INTO, NEAR),
        helps=("from tank.b instead of tank.a", "with the clearance at 2 mm"),
    ).sentence
    assert told.splitlines() == [
        "no route of it fits beside the others; its best runs 14 mm into "
        "'card to roof' at (60, 150, 11) mm and comes within 1.2 mm of "
        "'pump to card' at (10, 20, 30) mm;",
        "possible from tank.b instead of tank.a,",
        "or with the clearance at 2 mm",
    ]


def test_it_reads_on_where_lines_are_not_kept() -> None:
    told = Hindrance(in_the_way=(INTO,), helps=("one way", "another")).sentence
    assert " ".join(told.split()).endswith("mm; possible one way, or another")


def test_when_nothing_helps() -> None:
    told = Hindrance(in_the_way=(NEAR,), helps=()).sentence
    assert told.splitlines()[1:] == [
        "nothing that was tried helps while they stay where they are"
    ]


def test_when_the_ports_are_taken() -> None:
    told = Hindrance(in_the_way=(), helps=()).sentence
    assert told.startswith(
        "no route of it fits beside the others, which hold its ports"
    )


def test_when_nobody_waited_for_what_helps() -> None:
    told = Hindrance(in_the_way=(NEAR,), helps=(), is_all_tried=False).sentence
    assert told.splitlines()[1:] == [
        "what would help was not tried: the search was stopped"
    ]


def test_a_port_that_another_run_holds_is_named_and_no_collision_in_it() -> None:
    held = Taken(port="pump.out", run="card to roof")
    told = Hindrance(in_the_way=(INTO,), helps=(), taken=(held,)).sentence
    assert told.splitlines() == [
        "no port is left for it: pump.out is taken by 'card to roof', and a port holds "
        "one tube;",
        "give one of them another port, or join them at a piece with three ports, as a "
        "component of its own",
    ]
    more = Taken(port="pump.top", run="first")
    told = Hindrance(
        in_the_way=(), helps=("from pump.low instead of pump.out",), taken=(held, more)
    ).sentence
    assert told.splitlines() == [
        "no port is left for it: pump.out is taken by 'card to roof' and pump.top is "
        "taken by 'first', and a port holds one tube;",
        "possible from pump.low instead of pump.out,",
        "or give one of them another port, or join them at a piece with three ports, "
        "as a component of its own",
    ]
