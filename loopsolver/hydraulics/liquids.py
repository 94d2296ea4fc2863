"""Coolants: how heavy, how thick, and how much heat they carry, by temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from loopsolver.scene.water import Coolant, Liquid

_Rows = tuple[tuple[float, ...], ...]

WATER_MOST_C: Final = 100.0
GLYCOL_MOST_C: Final = 80.0
"""How warm a coolant may be [°C]: where water boils in an open tank, and where the
mixtures were held against other tables (ASHRAE's, by volume): above 20 °C they differ by
7 % at most in viscosity and 1 % in density."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidState:
    """A liquid at its temperature.

    Attributes
    ----------
    density : float
        [kg/m³].
    viscosity : float
        Dynamic [Pa s].
    heat_capacity : float
        At constant pressure [J/(kg K)].
    """

    density: float
    viscosity: float
    heat_capacity: float

    @property
    def kinematic(self) -> float:
        """Kinematic viscosity [m²/s]."""
        return self.viscosity / self.density


def liquid_state(coolant: Coolant) -> LiquidState:
    """Return the coolant at its temperature; `limits_c` has where that holds."""
    if coolant.liquid == "water" or not coolant.share:
        return water(coolant.temperature_c)
    mixture = _MIXTURES[coolant.liquid]
    warmer = coolant.temperature_c - mixture.base_c
    more = coolant.share / 100.0 - mixture.base_share
    return LiquidState(
        density=_polynomial(mixture.density, more, warmer),
        viscosity=math.exp(_polynomial(mixture.log_viscosity, more, warmer)) / 1000.0,
        heat_capacity=_polynomial(mixture.heat_capacity, more, warmer),
    )


def limits_c(coolant: Coolant) -> tuple[float, float]:
    """Return from where to where a coolant is liquid and its figures hold [°C]."""
    if coolant.liquid == "water" or not coolant.share:
        return 0.0, WATER_MOST_C
    mixture = _MIXTURES[coolant.liquid]
    more = coolant.share / 100.0 - mixture.base_share
    return _polynomial((mixture.freezing,), more, 0.0) - _ZERO_C, GLYCOL_MOST_C


def water(temperature_c: float) -> LiquidState:
    """Return water at 101 325 Pa.

    Notes
    -----
    Density: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, equation 16, 0 to 150 °C.
    Viscosity: IAPWS, Supplementary release on properties of liquid water at 0.1 MPa,
    SR6-08 (2011), equation 7. Heat capacity: a polynomial of our own through values of
    IAPWS-95 from 0 to 100 °C, within 0.05 %.
    """
    absolute = (temperature_c + _ZERO_C) / 300.0
    viscosity = math.fsum(a * absolute**b for a, b in _WATER_VISCOSITY)
    divisor = 1.0 + 1.6879850 * temperature_c / 100.0
    return LiquidState(
        density=_polynomial(_WATER_DENSITY, 0.0, temperature_c) / divisor,
        viscosity=viscosity / 1.0e6,
        heat_capacity=_polynomial(_WATER_HEAT, 0.0, temperature_c),
    )


def _polynomial(rows: _Rows, more: float, warmer: float) -> float:
    """Return the sum of rows[i][j] * more**j * (warmer / 100)**i (Horner's scheme)."""
    total, hundreds = 0.0, warmer / 100.0
    for row in reversed(rows):
        inner = 0.0
        for one in reversed(row):
            inner = inner * more + one
        total = total * hundreds + inner
    return total


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mixture:
    """Polynomials of a glycol in water; see `_MIXTURES`."""

    base_share: float
    base_c: float
    density: _Rows
    log_viscosity: _Rows
    heat_capacity: _Rows
    freezing: tuple[float, ...]


_ZERO_C: Final = 273.15

_WATER_VISCOSITY: Final = (
    (280.68, -1.9),
    (511.45, -7.7),
    (61.131, -19.6),
    (0.45903, -40.0),
)

_WATER_DENSITY: Final = (
    (999.83952,),
    (1694.5176,),
    (-79.870401,),
    (-46.170461,),
    (10.556302,),
    (-2.8054253,),
)

_WATER_HEAT: Final = ((4217.7,), (-280.48,), (691.13,), (-688.27,), (276.66,))

_MIXTURES: Final[dict[Liquid, _Mixture]] = {
    "ethylene glycol": _Mixture(
        base_share=0.308462,
        base_c=31.728,
        density=(
            (1034.0, 131.1, 0.749, -106.2, -96.23, 489.1),
            (-47.81, -68.76, 78.55, 122.9, -721.1),
            (-26.92, 48.05, -39.95, -115.3),
            (4.725, 1.690, 49.82),
        ),
        log_viscosity=(
            (0.4705, 2.471, 0.03328, 1.659, 3.089, -18.65),
            (-2.550, -1.171, 1.086, 0.3157, 1.831),
            (1.782, 1.052, 1.051, 4.063),
            (-0.7669, -1.634, -6.475),
        ),
        heat_capacity=(
            (3737.0, -1799.0, -993.3, 2610.0, 1537.0, -16180.0),
            (293.0, 1046.0, 351.6, -118.9, -4272.0),
            (-46.75, -414.7, 510.9, -1643.0),
            (-13.89, 18.47, -713.8),
        ),
        freezing=(257.9, -80.80, -133.4, -72.93, 100.6, 11.40),
    ),
    "propylene glycol": _Mixture(
        base_share=0.307031,
        base_c=32.7083,
        density=(
            (1018.0, 76.04, -24.98, -155.0, -113.1, 234.2),
            (-54.06, -94.50, 27.00, 282.9, -222.1),
            (-26.66, 55.41, -40.18, -71.75),
            (13.47, -13.43, 33.76),
        ),
        log_viscosity=(
            (0.6837, 3.328, 0.5453, -3.900, -1.587, 35.64),
            (-3.045, -3.984, -0.0860, 10.54, 4.475),
            (2.525, 4.332, -1.593, -15.89),
            (-1.399, -1.860, -0.4465),
        ),
        heat_capacity=(
            (3882.0, -1304.0, -1598.0, 353.9, 5000.0, -4959.0),
            (269.9, 507.0, 95.34, 3102.0, -7135.0),
            (-16.59, -47.52, 1167.0, -2950.0),
            (-10.32, 152.2, -487.0),
        ),
        freezing=(259.9, -66.31, -109.4, -228.3, -340.9, 146.5),
    ),
}
"""Å. Melinder, Properties of secondary working fluids for indirect systems, 2nd edition,
International Institute of Refrigeration 2010: least-squares polynomials in the share by
mass and in the temperature, each less a base, the temperature here in hundreds of K; the
coefficients as CoolProp carries them. Viscosity is the logarithm of mPa s, freezing in K.
"""
