"""The tables of a scene file about its coolant, and the kinds of value in them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Annotated, Any, ClassVar, Final, Literal, get_args

from pydantic import Field

from loopsolver.amounts import (
    FLOW,
    HEAT,
    MASS,
    PRESSURE,
    TEMPERATURE,
    VOLUME,
)
from loopsolver.scene import limits
from loopsolver.scene.axes import SIDES, Side
from loopsolver.scene.choices import (
    AMOUNT_JSON,
    amount,
    number,
    one_of,
    plain_text,
    read_amount,
)
from loopsolver.scene.findings import Finding, shown
from loopsolver.scene.quantities import Kind, Reading, each, found
from loopsolver.scene.shapes import ShapeTable
from loopsolver.scene.toml_table import Table
from loopsolver.scene.water import Coolant, Curve, Liquid

_POINTS_JSON: Final = {
    "type": "array",
    "items": {"type": "array", "items": AMOUNT_JSON, "minItems": 2, "maxItems": 2},
}


def curve(what: str, *, least_flow: float, least_points: int) -> Kind:
    """Return the kind of points of flow and pressure, put in the order of their flows."""
    wanted = (
        f"{least_points} to {limits.LIST_MOST} points [flow, pressure] such as {what}"
    )

    def read_point(value: Any) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            found(value, "a flow and a pressure, such as [4, 9.5]")
        pressure_most = limits.PRESSURE_MOST
        flow = read_amount(value[0], FLOW, least=least_flow, most=limits.FLOW_MOST)
        return flow, read_amount(value[1], PRESSURE, least=0.0, most=pressure_most)

    def read(value: Any, _: Reading) -> Curve:
        if not isinstance(value, list) or not (
            least_points <= len(value) <= limits.LIST_MOST
        ):
            found(value, wanted)
        points = tuple(sorted(each(value, read_point)))
        for (flow, _one), (other, _two) in pairwise(points):
            if flow == other:
                found(value, f"each flow once: {flow:g} L/min stands there twice")
        return points

    return Kind(read, {**_POINTS_JSON, "minItems": least_points})


def _pump(value: Any, reading: Reading) -> Curve:
    points: Curve = _ANY_PUMP.read(value, reading)
    (flow, pressure), (most, last) = points[-2:]
    if last >= pressure:
        found(
            value,
            f"a last pressure below the one before it: {pressure:g} kPa at {flow:g} "
            f"L/min, {last:g} kPa at {most:g} L/min",
        )
    return points


def _loss(value: Any, reading: Reading) -> Curve:
    points: Curve = _ANY_LOSS.read(value, reading)
    for (flow, pressure), (more, less) in pairwise(points):
        if less <= pressure:
            found(
                value,
                "pressures that grow with the flow: "
                f"{pressure:g} kPa at {flow:g} L/min, {less:g} kPa at {more:g} L/min",
            )
    if points[0][1] <= 0.0:
        found(
            value, "pressures above 0, such as [[4, 0.1]] for a part that takes little"
        )
    return points


def _heat(value: Any, _: Reading) -> float | str:
    if value == "rest":
        return "rest"
    most = limits.HEAT_MOST
    if isinstance(value, str) and not any(sign.isdigit() for sign in value):
        found(value, 'a number in W, or "rest": what the other parts leave')
    return read_amount(value, HEAT, least=-most, most=most)


def _weighed(value: Any, _: Reading) -> tuple[float, float]:
    wanted = "two masses in g: empty, then full of water, such as [812, 860]"
    if not isinstance(value, list) or len(value) != 2:
        found(value, wanted)
    empty, full = each(
        value, lambda one: read_amount(one, MASS, least=0.0, most=limits.MASS_MOST)
    )
    if full <= empty:
        found(value, f"{wanted}; full weighs more than empty")
    return empty, full


def _tilts(value: Any, reading: Reading) -> tuple[Side, ...]:
    if not isinstance(value, list) or len(value) > len(SIDES):
        found(value, f"a list of sides, such as {shown(['left', 'away'])}")
    sides = each(value, lambda side: one_of(SIDES).read(side, reading))
    return tuple(dict.fromkeys(sides))


_ANY_LOSS: Final = curve("[[4, 9.5]]", least_flow=limits.FLOW_LEAST, least_points=1)
_ANY_PUMP: Final = curve(
    '[[0, "3.9 m"], [10, "1.2 m"]]', least_flow=0.0, least_points=2
)
_PUMP: Final = Kind(_pump, _ANY_PUMP.json)
_LOSS: Final = Kind(_loss, _ANY_LOSS.json)
_HEAT: Final = Kind(_heat, dict(AMOUNT_JSON))
_WEIGHED: Final = Kind(
    _weighed,
    {"type": "array", "items": AMOUNT_JSON, "minItems": 2, "maxItems": 2},
)
_TILTS: Final = Kind(_tilts, {"type": "array", "items": {"enum": list(SIDES)}})
_PLACE: Final = plain_text(most=2 * limits.NAME_MOST + 1)


class CoolantTable(Table):
    """What goes round."""

    written: ClassVar[str] = "[coolant]"

    liquid: Annotated[Liquid, one_of(get_args(Liquid))] = "water"
    """"water", "ethylene glycol" or "propylene glycol", the glycols in water"""

    share: (
        Annotated[float, number("per cent by mass", least=0, most=limits.SHARE_MOST)]
        | None
    ) = None
    """of the glycol, per cent by mass"""

    temperature: Annotated[
        float,
        amount(
            TEMPERATURE, least=limits.TEMPERATURE_LEAST, most=limits.TEMPERATURE_MOST
        ),
    ] = Coolant().temperature_c
    """where it enters the pump, in °C"""

    flow: (
        Annotated[float, amount(FLOW, least=limits.FLOW_LEAST, most=limits.FLOW_MOST)]
        | None
    ) = None
    """the flow round the loop in L/min, where no pump curve gives it"""

    def contradictions(self, _reading: Reading) -> Iterator[Finding]:
        """Return what does not go together."""
        if self.liquid != "water" and self.share is None:
            yield Finding(
                path=("share",),
                found="nothing",
                wanted=f"how much {self.liquid} is in the water, in per cent by mass, "
                "such as share = 25",
            )
        if self.liquid == "water" and self.share:
            yield Finding(
                path=("share",),
                found=f"{self.share:g} of water",
                wanted='liquid = "ethylene glycol" or "propylene glycol" beside it, or '
                "no share",
            )


class FillingTable(Table):
    """How the loop is filled and drained."""

    written: ClassVar[str] = "[filling]"

    vent: Annotated[str, _PLACE] | None = None
    """a port or point that is open to the air, such as "tank.fill" """

    drain: Annotated[str, _PLACE] | None = None
    """a port or point to drain by, such as "pump.low" """

    tilts: Annotated[tuple[Side, ...], _TILTS] = ()
    """sides that may be turned to the floor, such as ["left", "away"]; default: none"""


class SpaceTable(ShapeTable):
    """One piece of the space in a part that the coolant fills, in the part's frame."""

    written: ClassVar[str] = "[[components.NAME.water.spaces]]"


class WaterTable(Table):
    """A part as the coolant sees it."""

    written: ClassVar[str] = "[components.NAME.water]"

    pump: Annotated[Curve, _PUMP] = ()
    """points of flow (L/min) and of the pressure that the pump gives at it (kPa)"""

    loss: Annotated[Curve, _LOSS] = ()
    """points of flow (L/min) and of the pressure that the part takes (kPa); one point
    means a square law
    """

    volume: (
        Annotated[float, amount(VOLUME, least=0.0, most=limits.VOLUME_MOST)] | None
    ) = None
    """what the part holds, in mL"""

    weighed: Annotated[tuple[float, float], _WEIGHED] | None = None
    """instead of volume: its mass empty, and full of water, in g"""

    heat: Annotated[float | Literal["rest"], _HEAT] | None = None
    """W given to the coolant, negative: taken; "rest": what the others leave"""

    limit: (
        Annotated[float, amount(PRESSURE, least=1.0, most=limits.PRESSURE_MOST)] | None
    ) = None
    """the maker's greatest air pressure, in kPa above the air outside"""

    spaces: list[SpaceTable] = Field(default_factory=list)
    """[[components.NAME.water.spaces]] tables; default: the part's bodies"""

    @classmethod
    def misfits(cls, data: dict[str, Any]) -> Iterable[Finding]:
        """Return what is wrong with the choice of keys."""
        if "volume" in data and "weighed" in data:
            yield Finding(
                path=("weighed",),
                found="both volume and weighed",
                wanted="one of the two",
            )
