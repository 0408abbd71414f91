"""Pressure drop, heat exchange, conduction and size of a packed bed of stones in a gas stream.

Free functions of floats or arrays; the marched temperature profile is in `components.bed_march`.
"""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = [
    "axial_dispersion",
    "bed_volume",
    "biot_correction",
    "buoyant_spreading",
    "ergun",
    "nusselt_wakao",
    "stagnant_conductivity",
    "volumetric_exchange",
]


def ergun(flux: Any, *, length: Any, diameter: Any, void: Any, rho: Any, mu: Any) -> Any:
    """Pressure drop of a gas or liquid through a bed of stones, positive along the flow.

    dp/L = 150 mu v (1-eps)^2 / (eps^3 d^2) + 1.75 rho v |v| (1-eps) / (eps^3 d), with v = flux/rho.

    Parameters
    ----------
    flux : float or array
        Mass flow per area of the empty vessel [kg/(m2 s)]; its sign is kept.
    length, diameter : float or array
        Bed length [m] and stone diameter (of the sphere with the same surface per volume) [m].
    void : float or array
        Void fraction [-].
    rho, mu : float or array
        Density [kg/m3] and dynamic viscosity [Pa s] of the fluid at its mean temperature.

    Returns
    -------
    float or array
        Pressure drop [Pa].

    Notes
    -----
    Made from data with Re/(1-eps) of 1 to 3000 and void 0.35 to 0.55; incompressible, so good where the drop is a
    small part of the pressure. Expect 25 % for rough stones.

    References
    ----------
    S. Ergun, Fluid flow through packed columns, Chem. Eng. Prog. 48 (1952) 89-94.

    Examples
    --------
    >>> round(ergun(1.0, length=1.0, diameter=8e-4, void=0.4, rho=1000.0, mu=1e-3), 4)
    1338.8672
    """
    speed = flux / rho
    solid = (1 - void) / void**3
    viscous = 150 * mu * speed * solid * (1 - void) / diameter**2
    return length * (viscous + 1.75 * rho * speed * abs(speed) * solid / diameter)


def nusselt_wakao(reynolds: Any, prandtl: Any) -> Any:
    """Nusselt number h d / k between gas and stones: Nu = 2 + 1.1 Pr^(1/3) Re^0.6, with Re = G d / mu.

    Parameters
    ----------
    reynolds : float or array
        Reynolds number of the flow per empty area [-]; 15 to 8500 in the data.
    prandtl : float or array
        Prandtl number of the gas [-].

    Returns
    -------
    float or array
        Nusselt number [-].

    References
    ----------
    N. Wakao, S. Kaguei, Heat and Mass Transfer in Packed Beds, Gordon and Breach, 1982.

    Examples
    --------
    >>> round(nusselt_wakao(2000.0, 0.7), 5)
    95.40641
    """
    return 2 + 1.1 * prandtl ** (1 / 3) * reynolds**0.6


def biot_correction(film: Any, *, diameter: Any, conductivity: Any) -> Any:
    """Exchange coefficient seen by the mean temperature of a stone: h / (1 + Bi/5), with Bi = h (d/2) / k_stone.

    The linear-driving-force form for spheres: a parabolic profile inside the stone adds (d/2)/(5 k) of resistance.

    Parameters
    ----------
    film : float or array
        Coefficient between gas and stone surface [W/(m2 K)].
    diameter : float or array
        Stone diameter [m].
    conductivity : float or array
        Conductivity of the stone [W/(m K)].

    Returns
    -------
    float or array
        Effective coefficient [W/(m2 K)].

    Notes
    -----
    Good once a stone has been heated for longer than about 0.1 (d/2)^2 / diffusivity (under a minute for 3 cm of rock).

    References
    ----------
    D. Stuke, Angew. Chem. 20 (1948) 262 (from memory); also D. Jeffreson, Chem. Eng. Sci. 27 (1972) 1673 (from memory).

    Examples
    --------
    >>> round(biot_correction(50.0, diameter=0.03, conductivity=2.5), 3)
    47.17
    """
    return film / (1 + 0.2 * film * (diameter / 2) / conductivity)


def volumetric_exchange(film: Any, *, diameter: Any, void: Any) -> Any:
    """Exchange per volume of bed: h_v = 6 (1-eps) h / d.

    Parameters
    ----------
    film : float or array
        Coefficient between gas and stone, corrected for conduction inside it [W/(m2 K)].
    diameter, void : float or array
        Stone diameter [m] and void fraction [-].

    Returns
    -------
    float or array
        Volumetric coefficient [W/(m3 K)].

    Examples
    --------
    The surface per volume of cylinders of 2 cm with void 0.399 (Geankoplis, example 3.1-3): 180.4 1/m.

    >>> round(volumetric_exchange(1.0, diameter=0.02, void=0.39875), 1)
    180.4
    """
    return 6 * (1 - void) * film / diameter


def stagnant_conductivity(gas: Any, solid: Any, void: Any) -> Any:
    """Conductivity of a bed whose gas stands still, after Krupiczka.

    k_bed = k_gas (k_solid/k_gas)^n, n = 0.280 - 0.757 log10(eps) - 0.057 log10(k_solid/k_gas).

    Parameters
    ----------
    gas, solid : float or array
        Conductivity of gas and of stone [W/(m K)].
    void : float or array
        Void fraction [-]; 0.215 to 0.476 in the data.

    Returns
    -------
    float or array
        Conductivity of the bed [W/(m K)]; radiation between stones is not in it.

    References
    ----------
    R. Krupiczka, Analysis of thermal conductivity in granular materials, Int. Chem. Eng. 7 (1967) 122-144 (from
    memory).

    Examples
    --------
    >>> round(float(stagnant_conductivity(0.045, 2.5, 0.4)), 3)
    0.312
    """
    ratio = solid / gas
    return gas * ratio ** (0.280 - 0.757 * np.log10(void) - 0.057 * np.log10(ratio))


def axial_dispersion(reynolds: Any, prandtl: Any, gas: Any) -> Any:
    """Conductivity along the bed that the mixing of the flowing gas adds: 0.5 Re Pr k_gas.

    Parameters
    ----------
    reynolds, prandtl : float or array
        Reynolds number of the flow per empty area [-] and Prandtl number [-].
    gas : float or array
        Conductivity of the gas [W/(m K)].

    Returns
    -------
    float or array
        Added conductivity [W/(m K)].

    References
    ----------
    N. Wakao, S. Kaguei, Heat and Mass Transfer in Packed Beds, 1982, ch. 5 (from memory).

    Examples
    --------
    >>> axial_dispersion(200.0, 0.7, 0.045)
    3.15
    """
    return 0.5 * reynolds * prandtl * gas


def buoyant_spreading(height: Any, *, lighter: Any, resistance: Any, gas: Any) -> Any:
    """Conductivity along a bed with horizontal flow that spreads its front as much as tilting does.

    Hot gas runs ahead on top, cold gas below. The interface, once it is long against the height H, turns as a straight
    line whose half-length X grows by X^2 = w H t, w = g drho / (r R), r the pressure gradient over the speed and R
    the heat capacity of the bed over that of its gas. The mean over the height is a ramp with the variance X^2 / 3, as
    conduction gives it with k = rho cp g drho H / (6 r).

    Parameters
    ----------
    height : float or array
        Of the bed, upright [m].
    lighter : float or array
        Weight of cold gas less that of hot gas, g drho [Pa/m].
    resistance : float or array
        Pressure gradient along the flow over the speed in the empty vessel, r [Pa s/m2].
    gas : float or array
        Heat capacity of a volume of gas, rho cp [J/(m3 K)].

    Returns
    -------
    float or array
        Conductivity [W/(m K)], to be added to that of stones and mixing.

    Notes
    -----
    For a sharp front between two layers of one resistance, each at its hydrostatic pressure; a front that is spread
    already turns more slowly, so that this is an upper bound. What leaves is taken as mixed over the height. Turning
    the flow round does not turn the front back.

    References
    ----------
    G. de Josselin de Jong, Water Resour. Res. 17 (1981) 1 (rotating interface), H. E. Huppert and A. W. Woods, J. Fluid
    Mech. 292 (1995) 55 (exchange in a porous layer): both from memory; the retardation by the stones is derived here.

    Examples
    --------
    >>> round(buoyant_spreading(4.0, lighter=2.0, resistance=110.0, gas=480.0), 2)
    5.82
    """
    return gas * lighter * height / (6 * resistance)


def bed_volume(heat: Any, *, rise: Any, density: Any, void: Any, usable: Any = 1.0) -> Any:
    """Volume of the bed that holds a given heat: V = Q / (usable (1-eps) rho dh).

    Parameters
    ----------
    heat : float or array
        Heat to be taken out [J].
    rise : float or array
        Enthalpy of the solid between cold and hot state [J/kg].
    density : float or array
        Density of the stone itself [kg/m3].
    void : float or array
        Void fraction [-].
    usable : float or array
        Part of the stored heat that comes out hot enough [-].

    Returns
    -------
    float or array
        Volume of the packed bed [m3].

    Examples
    --------
    >>> round(bed_volume(1e12, rise=5e5, density=2600.0, void=0.4), 1)
    1282.1
    """
    return heat / (usable * (1 - void) * density * rise)
