"""What a bench test found: coefficients with their intervals, points, what was left out; and the parts for a plant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from components.bench_receiver import FittedReceiver
from components.bench_regress import Trial
from components.bench_screen import LeftOut
from components.bench_terms import TERMS
from components.incidence import IncidenceModifier
from loopnet.errors import DataError, ParameterError
from loopnet.units import to_si

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from components.collector import Collector

__all__ = ["Coefficient", "CollectorFit"]

Array = NDArray[np.float64]
Floats = float | Array


class Coefficient(NamedTuple):
    """One coefficient: value, standard uncertainty as a whole, from scatter (type A) and from instruments (type B), the
    ends of its interval, t over scatter alone, degrees of freedom [values in `unit`]."""

    name: str
    unit: str
    value: float
    uncertainty: float
    scatter: float
    instruments: float
    low: float
    high: float
    t: float
    freedom: float
    words: str


@dataclass(frozen=True, kw_only=True, eq=False)
class CollectorFit:
    """A collector as its builder measured it; see `components.bench_fit.fit_collector`.

    `points` holds one row per point of the fit, in SI; `covariance` that of the coefficients, scatter and instruments
    together, in their order; `tested` the least and greatest of what was measured.
    """

    name: str
    method: str
    liquid: str
    aperture: float
    coefficients: tuple[Coefficient, ...]
    covariance: Array = field(repr=False)
    confidence: float
    points: pd.DataFrame = field(repr=False)
    scatter: float
    tested: Mapping[str, tuple[float, float]]
    left_out: tuple[LeftOut, ...]
    dropped: tuple[Trial, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    known_modifier: IncidenceModifier | None = None

    # -- reading ---------------------------------------------------------------------------------------------------

    def __getitem__(self, name: str) -> Coefficient:
        for found in self.coefficients:
            if found.name == name:
                return found
        reason = next((trial.why for trial in self.dropped if trial.term == name), "not asked for")
        raise ParameterError("this term is not in the fit", where=f"fit of {self.name}", got=f"{name!r} ({reason})",
                             allowed=", ".join(c.name for c in self.coefficients), hint="one of these")

    @property
    def values(self) -> dict[str, float]:
        """Coefficients by name [units of TERMS]."""
        return {c.name: c.value for c in self.coefficients}

    @property
    def correlation(self) -> pd.DataFrame:
        """Correlation of the coefficients: two with nearly 1 or -1 are known only together."""
        size = np.sqrt(np.diag(self.covariance))
        size = np.where(size > 0, size, 1.0)
        names = [c.name for c in self.coefficients]
        return pd.DataFrame(self.covariance / np.outer(size, size), index=names, columns=names)

    @property
    def has_loss(self) -> bool:
        """Whether losses were told apart from the optics."""
        return any(TERMS[c.name].loss and c.name not in ("a5", "a6", "eta1") for c in self.coefficients)

    def useful(self, over: Floats, dni: Floats, *, wind: Floats = 0.0, incidence: Floats = 0.0,
               ambient: Floats = 293.15) -> tuple[Array, Array]:
        """Useful heat per aperture by the fit, steady.

        Parameters
        ----------
        over : float or array, shape (points,)
            Mean temperature above the air [K].
        dni : float or array, shape (points,)
            Direct normal sun [W/m2].
        wind : float or array, shape (points,)
            Wind [m/s].
        incidence : float or array, shape (points,)
            Angle of incidence [rad].
        ambient : float or array, shape (points,)
            Temperature of the air [K].

        Returns
        -------
        useful, uncertainty : array, shape (points,)
            Heat and its standard uncertainty [W/m2].
        """
        over, dni, wind, theta, ambient = np.broadcast_arrays(
            *(np.asarray(x, dtype=float) for x in (over, dni, wind, incidence, ambient)))
        known = 1.0 if self.known_modifier is None else self.known_modifier(theta)
        at = {"beam": dni * np.cos(theta) * known, "angle": np.degrees(theta), "over": over, "ambient": ambient,
              "middle": ambient + over, "wind": wind, "rate": np.zeros_like(over)}
        X = np.stack([TERMS[c.name].of(at) for c in self.coefficients], axis=-1)
        spread = np.einsum("...i,ij,...j->...", X, self.covariance, X)
        return X @ np.array([c.value for c in self.coefficients]), np.sqrt(np.maximum(spread, 0.0))

    def to_frame(self) -> pd.DataFrame:
        """One row a coefficient."""
        return pd.DataFrame([c._asdict() for c in self.coefficients]).set_index("name")

    def to_dict(self) -> dict[str, Any]:
        """Everything as plain numbers and text, in SI."""
        points = self.points.assign(rows=[list(map(int, rows)) for rows in self.points["rows"]])
        return {"name": self.name, "method": self.method, "liquid": self.liquid, "aperture_m2": self.aperture,
                "confidence": self.confidence, "scatter_w_m2": self.scatter,
                "coefficients": [{k: (v if isinstance(v, str) or np.isfinite(v) else None)
                                  for k, v in c._asdict().items()} for c in self.coefficients],
                "correlation": self.correlation.to_numpy().tolist(), "covariance": self.covariance.tolist(),
                "tested": {k: list(v) for k, v in self.tested.items()}, "points": points.to_dict("records"),
                "left_out": [{**x._asdict(), "rows": list(x.rows)} for x in self.left_out],
                "dropped": [x._asdict() for x in self.dropped], "warnings": list(self.warnings),
                "notes": list(self.notes), "cautions": list(self.cautions)}

    def __repr__(self) -> str:
        said = ", ".join(f"{c.name} {c.value:.3g} +/- {(c.high - c.low) / 2:.1g}" for c in self.coefficients)
        return f"CollectorFit({self.name!r}, {said}, {len(self.points)} points, {len(self.warnings)} warnings)"

    def _repr_html_(self) -> str:
        from html import escape

        table = self.to_frame()[["value", "unit", "low", "high", "t", "words"]].to_html(float_format="{:.4g}".format)
        return table + "".join(f"<p>{escape(text)}</p>" for text in self.warnings)

    def report(self) -> str:
        """What was found, in words and numbers, for the person who built the collector."""
        from components.bench_report import report

        return report(self)

    def picture(self, ax: Axes | None = None) -> Axes:
        """Fit with its band above, residuals below; see `components.bench_picture.picture`."""
        from components.bench_picture import picture

        return picture(self, ax)

    # -- for a plant -----------------------------------------------------------------------------------------------

    def receiver(self) -> FittedReceiver:
        """The loss as a receiver.

        Returns
        -------
        FittedReceiver

        Raises
        ------
        DataError
            If losses were not told apart from the optics.
        """
        if not self.has_loss:
            raise DataError("this test does not tell losses, so no plant can be reckoned at another temperature",
                            where=f"fit of {self.name}", got=f"one temperature, {self.tested['over'][0]:.0f} to "
                            f"{self.tested['over'][1]:.0f} K above the air", allowed="a fit with a1 or another loss",
                            hint="measure at two or more inlet temperatures, or with the mirrors covered as well")
        known = {name: value for name, value in self.values.items() if name not in ("eta0", "k1", "k2", "a5")}
        return FittedReceiver(**known, hottest=self.tested["outlet"][1])

    def modifier(self) -> IncidenceModifier | None:
        """The incidence-angle modifier, without the cosine: fitted, or as it was given; None if neither."""
        values = self.values
        if "k1" in values or "k2" in values:
            return IncidenceModifier(c1=values.get("k1", 0.0) / values["eta0"],
                                     c2=values.get("k2", 0.0) / values["eta0"], includes_cosine=False)
        return self.known_modifier

    def collector(self, **more: Any) -> Collector:
        """The optics as a collector for a plant: ``CollectorField(collector=fit.collector(), receiver=fit.receiver(),
        outlet=...)``.

        A bench test knows only the product of reflectance, intercept, transmittance and absorptance, which is eta0.
        Give those that you know apart; what is left of eta0 is called `intercept`. The mirrors count as clean and as
        new as they were in the test; `soiling` and `ageing` are what comes on top.

        Parameters
        ----------
        **more
            Other parameters of Collector, such as ``tracking`` or ``reflectance``.

        Returns
        -------
        Collector

        Raises
        ------
        DataError
            If the parts that are given leave less than eta0, or more is asked than was measured.
        """
        from components.collector import Collector

        parts: dict[str, Any] = {"reflectance": 1.0, "transmittance": 1.0, "absorptance": 1.0}
        parts |= {name: to_si(more[name], "-") for name in parts if more.get(name) is not None}
        if "intercept" in more:
            raise ParameterError("the intercept is what the bench test leaves over", where="CollectorFit.collector",
                                 got=f"intercept={more['intercept']}", allowed=", ".join(parts),
                                 hint="leave the intercept out")
        left = self["eta0"].value / float(np.prod(list(parts.values())))
        if not 0.0 < left <= 1.0:
            raise DataError("these optics let through less than what was measured", where=f"fit of {self.name}",
                            got=", ".join(f"{k} {v:g}" for k, v in parts.items()),
                            allowed=f"a product of at least eta0 = {self['eta0'].value:.3f}",
                            hint="check aperture and instruments, or the reflectance")
        return Collector(**{"modifier": self.modifier(), **more, **parts, "intercept": left})
