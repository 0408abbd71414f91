"""A loss that needs a solve inside, tabulated once: Chebyshev polynomials in temperature, ambient and wind, so that a
field evaluates products and sums, smooth to any order, with an error that is measured and asserted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from components.receiver import Receiver
from loopnet.errors import ConvergenceError

__all__ = ["LossTable", "TabledReceiver", "balance"]

Array = NDArray[np.float64]
Floats = float | Array

COLD = (228.15, 333.15)
"""Ambient temperatures of the tables [K]."""
WIND = (0.0, 30.0)
"""Wind of the tables [m/s], to the hub of a tower in a storm; beyond, the loss of 30 m/s."""
_DEGREES = ((12, 4, 8), (20, 5, 12), (32, 6, 16), (48, 8, 20))


def balance(gain: Callable[[Array], Array], low: Floats, high: Floats, steps: int = 50) -> Array:
    """Where a falling function crosses zero, for many points at once, by bisection: slow, sure, for tables only.

    Parameters
    ----------
    gain : callable
        Heat that a surface gains less what it gives off [W], of its temperature [K]; falls with it.
    low, high : float or array, shape (points,)
        Temperatures [K] between which the crossing lies.
    steps : int
        Halvings; 50 leave 1e-13 K of 100 K.

    Returns
    -------
    array, shape (points,)
        Temperature of balance [K].

    Examples
    --------
    >>> balance(lambda t: 350.0 - t, 300.0, np.array([400.0, 500.0])).round(6)
    array([350., 350.])
    """
    low, high = np.broadcast_arrays(np.asarray(low, float), np.asarray(high, float))
    for _ in range(steps):
        middle = 0.5 * (low + high)
        warms = gain(middle) > 0.0
        low, high = np.where(warms, middle, low), np.where(warms, high, middle)
    return 0.5 * (low + high)


def _basis(x: Array, degree: int) -> list[Array]:
    """Chebyshev polynomials T0 to T_degree of x in [-1, 1]."""
    out = [np.ones_like(x), x]
    for _ in range(degree - 1):
        out.append(2.0 * x * out[-1] - out[-2])
    return out[:degree + 1]


class LossTable:
    """Loss as (T - Ta) U + L0, U a Chebyshev tensor over ((T - Ta)^(1/4), Ta, sqrt wind), L0 the loss at T = Ta.

    The root straightens free convection, whose U goes like (T - Ta)^(1/4). Degrees rise until the error at 2,000
    states in between, relative to the loss there plus 5 % of the largest, is below `tolerance`. Beyond `span` the last
    U is held, so that the loss rises on linearly; below ambient, U is that of the same difference above.

    Parameters
    ----------
    exact : callable
        Loss [W/m2] of temperature [K], ambient [K] and wind [m/s], all of one shape.
    span : float
        Highest temperature above ambient [K].
    tolerance : float
        Largest error allowed [-].

    Raises
    ------
    ConvergenceError
        If the highest degrees do not reach the tolerance.

    Examples
    --------
    >>> table = LossTable(lambda t, a, v: (t - a) * (1.0 + 1e-3 * t + 0.1 * v), 500.0, 1e-6)
    >>> round(float(table(700.0, 300.0, 4.0)), 6), table.error < 1e-9
    (840.0, True)
    """

    def __init__(self, exact: Callable[[Array, Array, Array], Array], span: float, tolerance: float) -> None:
        self._axes = (0.0, span**0.25), COLD, (np.sqrt(WIND[0]), np.sqrt(WIND[1]))
        rng = np.random.default_rng(11)
        cold = rng.uniform(*COLD, 2000)
        states = [cold + rng.uniform(0.0, span, 2000), cold, WIND[1] * rng.uniform(0, 1, 2000) ** 2]
        wanted = exact(*states)
        scale = np.abs(wanted) + 0.05 * np.max(np.abs(wanted))
        for degrees in _DEGREES:
            self._fit(exact, degrees)
            self.error = float(np.max(np.abs(self(*states) - wanted) / scale))
            if self.error <= tolerance:
                return
        raise ConvergenceError("table of the heat loss is not exact enough", where="receiver",
                               got=f"error {self.error:.1e}", allowed=f"to {tolerance:.0e}",
                               hint="a narrower range of temperatures, or a larger tolerance")

    def _fit(self, exact: Callable[[Array, Array, Array], Array], degrees: tuple[int, int, int]) -> None:
        nodes = [np.cos(np.pi * (np.arange(n + 1) + 0.5) / (n + 1)) for n in degrees]
        axes = [0.5 * (low + high) + 0.5 * (high - low) * x for (low, high), x in zip(self._axes, nodes, strict=True)]
        root, cold, wind = np.meshgrid(*axes, indexing="ij")
        over, wind = root**4, wind**2
        rest = exact(cold[:1], cold[:1], wind[:1])  # loss at T = Ta: what a sky colder than the air takes
        self._u = _project((exact(cold + over, cold, wind) - rest) / over, nodes)
        self._rest = _project(rest, [np.zeros(1), *nodes[1:]])[0]

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss [W/m2] at temperature and ambient [K] and wind [m/s]; ambient and wind of shape (points,)."""
        cold = np.asarray(ambient, float)
        over = np.asarray(temperature, float) - cold
        x, a, s = (_local(value, *axis) for value, axis in zip(
            (np.sqrt(np.sqrt(np.abs(over))), cold, np.sqrt(np.abs(np.asarray(wind, float)))), self._axes, strict=True))
        ambients, winds = _basis(a, self._u.shape[1] - 1), _basis(s, self._u.shape[2] - 1)
        weather = np.stack([one * other for one in ambients for other in winds])
        flat, shape = weather.reshape(len(weather), -1), weather.shape[1:]
        series = (self._u.reshape(self._u.shape[0], -1) @ flat).reshape(len(self._u), *shape)
        rest = (self._rest.ravel() @ flat).reshape(shape)
        return over * chebyshev.chebval(x, series, tensor=False) + rest


def _local(x: Array, low: float, high: float) -> Array:
    return np.clip((2.0 * x - low - high) / (high - low), -1.0, 1.0)


def _project(values: Array, nodes: list[Array]) -> Array:
    """Chebyshev coefficients of values at Chebyshev nodes, along each axis in turn."""
    for axis, x in enumerate(nodes):
        fit = chebyshev.chebvander(x, x.size - 1).T * (2.0 / x.size)
        fit[0] /= 2.0
        values = np.moveaxis(np.tensordot(fit, values, axes=(1, axis)), 0, axis)
    return values


@dataclass(frozen=True, kw_only=True)
class TabledReceiver(Receiver):
    """A receiver whose loss is tabulated on first use from `exact`, up to `span` above ambient."""

    span: ClassVar[float] = 650.0
    """Highest temperature of the table above ambient [K]."""
    tolerance: ClassVar[float] = 2e-3
    """Largest error of the table, relative to the loss plus 5 % of the largest one [-]."""

    def exact(self, temperature: Floats, ambient: Floats, wind: Floats) -> Array:
        """Loss [W/m2 of aperture] by the solve, at surface temperature and ambient [K] and wind [m/s]."""
        raise NotImplementedError

    @property
    def table(self) -> LossTable:
        """The table, shared by all equal receivers of a process."""
        return _table(self)

    def __call__(self, temperature: Floats, ambient: Floats, wind: Floats = 0.0, dni: Floats = 0.0) -> Array:
        """Loss [W/m2 of aperture] at medium temperature and ambient [K], wind [m/s], direct sun [W/m2]."""
        return self.table(np.asarray(temperature) + self.rise * np.asarray(dni), ambient, wind)


@lru_cache(maxsize=64)
def _table(receiver: Any) -> LossTable:
    return LossTable(receiver.exact, receiver.span, receiver.tolerance)
