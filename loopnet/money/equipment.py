"""Correlations of bought equipment, and factors that make it installed: what prices of the book were derived with."""

from __future__ import annotations

from math import exp, log

from loopnet.params import check_range

__all__ = ["bare_module", "exchanger_cost", "guthrie_factor", "tank_cost"]


def exchanger_cost(area: float) -> float:
    """Bought cost of a shell-and-tube exchanger, C = exp(8.202 + 0.01506 ln A + 0.06811 (ln A)^2).

    Parameters
    ----------
    area : float
        Surface [m2], 14 to 1,100.

    Returns
    -------
    float
        Cost [USD, printed in January 1982], carbon steel, floating head, 7 bar.

    Raises
    ------
    ParameterError
        If the area is outside the printed range.

    References
    ----------
    Corripio, Chrien, Evans, Chemical Engineering, 25 January 1982, seen quoted.

    Examples
    --------
    >>> round(exchanger_cost(500.0))
    55609
    """
    check_range(area, where="exchanger_cost.area", unit="m^2", low=14.0, high=1100.0, hint="several side by side")
    return exp(8.202 + 0.01506 * log(area) + 0.06811 * log(area) ** 2)


def tank_cost(volume: float) -> float:
    """Cost of a field-erected cone-roof tank, C = exp(9.369 - 0.1045 ln V + 0.045355 (ln V)^2).

    Parameters
    ----------
    volume : float
        Volume [m3], 80 to 45,000.

    Returns
    -------
    float
        Cost [USD, printed in January 1982], carbon steel for water, without foundation, within 25 %.

    Raises
    ------
    ParameterError
        If the volume is outside the printed range.

    References
    ----------
    Corripio, Chrien, Evans, Chemical Engineering, 25 January 1982, seen quoted.

    Examples
    --------
    >>> round(tank_cost(10_000.0))
    209819
    """
    check_range(volume, where="tank_cost.volume", unit="m^3", low=80.0, high=45_000.0, hint="several side by side")
    return exp(9.369 - 0.1045 * log(volume) + 0.045355 * log(volume) ** 2)


def bare_module(cost: float, *, b1: float = 1.63, b2: float = 1.66, material: float = 1.0,
                pressure: float = 1.0) -> float:
    """Installed cost of equipment, C (B1 + B2 F_M F_P).

    Parameters
    ----------
    cost : float
        Bought cost in carbon steel at low pressure [USD].
    b1, b2 : float
        Constants of the kind of equipment [-]; those of exchangers if left out.
    material, pressure : float
        Factors of material and pressure [-].

    Returns
    -------
    float
        Cost with freight, erection, piping, foundations and overhead [USD].

    References
    ----------
    Turton et al., Analysis, Synthesis and Design of Chemical Processes, 3rd ed., example 7.12.

    Examples
    --------
    >>> round(bare_module(25_000 * 500 / 397, material=2.73), -3)
    194000.0
    """
    for name, factor in (("cost", cost), ("material", material), ("pressure", pressure)):
        check_range(factor, where=f"bare_module.{name}", unit="-", low=0.0, high=1e12)
    return cost * (b1 + b2 * material * pressure)


def guthrie_factor(*, material: float, labour: float, freight: float, overhead: float, engineering: float) -> float:
    """Installed over bought cost from its parts, (1 + a_L + a_FIT + a_L a_O + a_E)(1 + a_M).

    Parameters
    ----------
    material : float
        Erection material, over bought cost [-].
    labour, freight : float
        Labour; freight with insurance and tax; over bought cost with material [-].
    overhead : float
        Overhead over labour [-].
    engineering : float
        Contractor's engineering over bought cost with material [-].

    Returns
    -------
    float
        Factor [-].

    References
    ----------
    Turton et al., 3rd ed., example 7.9, after Guthrie.

    Examples
    --------
    >>> round(guthrie_factor(material=0.714, labour=0.368, freight=0.047, overhead=1.005, engineering=0.136), 3)
    3.292
    """
    return (1.0 + labour + freight + labour * overhead + engineering) * (1.0 + material)
