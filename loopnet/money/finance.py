"""What money costs and what comes on top of the direct costs: rates, lives, on-costs, tax and depreciation."""

from __future__ import annotations

from dataclasses import dataclass
from math import fsum, isfinite

from loopnet.errors import ParameterError
from loopnet.money.cashflow import capital_recovery, construction_factor, discounted_sum, real_rate
from loopnet.params import Parameters, param

__all__ = ["ACCELERATED", "Finance", "depreciation_worth", "straight_line", "tax_factor"]

_PRACTICE = "common practice, no source"
_MEMORY = "Turchi et al., NREL/TP-5500-72856 (2019), from memory"

ACCELERATED = (0.20, 0.32, 0.192, 0.1152, 0.1152, 0.0576)
"""Shares written off in years 1 to 6 by the five-year accelerated schedule of United States tax law (half-year rule;
IRS publication 946, table A-1, from memory)."""


def straight_line(years: int) -> tuple[float, ...]:
    """Equal shares written off over whole years [-].

    >>> straight_line(4)
    (0.25, 0.25, 0.25, 0.25)
    """
    return (1.0 / years,) * years


def depreciation_worth(rate: float, shares: tuple[float, ...]) -> float:
    """Present worth of a depreciation schedule, sum of f_k / (1 + i)^k.

    Parameters
    ----------
    rate : float
        Nominal discount rate [1/year]: tax law writes off the money that was once paid.
    shares : tuple of float
        Share written off at the end of each year, first year first [-].

    Returns
    -------
    float
        Worth for each unit of capital [-].

    Examples
    --------
    >>> round(depreciation_worth(0.06, ACCELERATED), 6), round(depreciation_worth(0.08, ACCELERATED), 6)
    (0.852624, 0.811326)
    """
    return fsum(share / (1.0 + rate) ** year for year, share in enumerate(shares, start=1))


def tax_factor(tax: float, worth: float) -> float:
    """What tax multiplies the yearly charge on capital by, (1 - T d) / (1 - T).

    Parameters
    ----------
    tax : float
        Rate of tax on profit [-].
    worth : float
        Present worth of depreciation for each unit of capital [-].

    Returns
    -------
    float
        Factor [-]; 1 without tax.

    References
    ----------
    Short, Packey, Holt, NREL/TP-462-5173 (1995), from memory.

    Examples
    --------
    >>> round(tax_factor(0.257, 0.852624), 6)
    1.050977
    """
    return (1.0 - tax * worth) / (1.0 - tax)


@dataclass(frozen=True, kw_only=True)
class Finance(Parameters):
    """What money costs and what comes on top of the direct costs.

    Costs are in the money of one year, so rates are real, that is, free of inflation, unless `nominal` says that those
    given hold it; they are then made real with `inflation`. Tax writes off nominal money, so `inflation` matters with
    tax too. With `tax`, the rate is one after tax; all money is taken as the owner's own (no debt).
    """

    rate: float = param(0.07, unit="1/year", low=0.0, high=0.5, source=_PRACTICE,
                        doc="discount rate, real unless `nominal`")
    life: float = param(25.0, unit="year", low=1.0, high=100.0, source=_PRACTICE, doc="life of the plant, whole years")
    contingency: float = param(0.07, unit="-", low=0.0, high=1.0, source=_MEMORY, doc="of the direct cost")
    indirect: float = param(0.11, unit="-", low=0.0, high=1.0, source=f"{_MEMORY}: trough 0.11, tower 0.13",
                            doc="engineering and procurement, and owner's cost unless `owner` holds it; of direct cost "
                                "with contingency")
    owner: float = param(0.0, unit="-", low=0.0, high=1.0, source="assumption: within `indirect`",
                         doc="owner's cost (permits, grid connection, first staff), of direct cost with contingency, "
                             "beside `indirect`")
    construction_years: float = param(2.0, unit="year", low=0.0, high=15.0, source=_PRACTICE,
                                      doc="whole years of building, equal spending in each, in mid-year")
    construction_rate: float | None = param(None, unit="1/year", low=0.0, high=0.5, optional=True, source="assumption",
                                            doc="interest while building; the discount rate if None")
    om_fixed: float | None = param(None, unit="USD/W/year", low=0.0, high=10.0, optional=True, source="user",
                                   doc="fixed O&M per rated electric power; the price book's if None")
    om_variable: float | None = param(None, unit="USD/kWh", low=0.0, high=1.0, optional=True, source="user",
                                      doc="variable O&M of electricity; the price book's if None")
    om_fraction: float = param(0.015, unit="1/year", low=0.0, high=0.5, source=f"{_PRACTICE}: 1 to 2 % a year",
                               doc="fixed O&M as share of the direct cost, where no rated electric power is known or "
                                   "heat alone is sold")
    decay: float = param(0.0, unit="1/year", low=0.0, high=0.2, source="assumption", doc="output lost each year")
    heat_worth: float = param(0.3, unit="-", low=0.0, high=1.0,
                              source="assumption: ideal (Carnot) work of heat at 150 degC over 25 degC",
                              doc="electricity that one unit of heat is worth, where a plant sells both")
    inflation: float = param(0.025, unit="1/year", low=-0.05, high=0.5, source=_PRACTICE,
                             doc="used where rates are nominal or tax is paid")
    nominal: bool = False
    """Whether `rate` and `construction_rate` hold inflation."""
    tax: float = param(0.0, unit="-", low=0.0, high=0.9, source="user", doc="rate of tax on profit")
    depreciation: tuple[float, ...] = ()
    """Shares of the capital written off at the ends of years 1, 2, ... for tax; equal shares over `life` if empty."""
    salvage: float = param(0.0, unit="-", low=-0.5, high=1.0, source="assumption",
                           doc="worth left at the end of `life`, of direct cost in the same money; below zero where "
                               "clearing the site costs more than the scrap brings")

    def __post_init__(self) -> None:
        super().__post_init__()
        for name in ("life", "construction_years"):
            years = getattr(self, name)
            if years != int(years):
                raise ParameterError("years must be whole", where=f"Finance.{name}", got=f"{years:g}",
                                     allowed="whole years", hint=f"{name}={round(years)}")
        if not isinstance(self.nominal, bool):
            raise ParameterError("neither true nor false", where="Finance.nominal", got=repr(self.nominal),
                                 allowed="True or False", hint="nominal=True where the rates hold inflation")
        self._check_depreciation()
        if self.nominal and self.real < 0.0:
            raise ParameterError("a nominal rate below inflation has no real rate above zero", where="Finance.rate",
                                 got=f"{self.rate:g}", allowed=f"{self.inflation:g} or more", hint="nominal=False")

    def _check_depreciation(self) -> None:
        try:
            shares = tuple(float(share) for share in self.depreciation)
            sound = all(isfinite(f) and f >= 0 for f in shares) and (not shares or abs(fsum(shares) - 1.0) <= 1e-6)
        except (TypeError, ValueError):
            shares, sound = (), False
        if not sound or len(shares) > self.life:
            raise ParameterError("shares written off must be positive, add up to 1 and end with the plant's life",
                                 where="Finance.depreciation", got=str(self.depreciation),
                                 allowed=f"up to {self.life:g} shares whose sum is 1",
                                 hint="straight_line(20), or ACCELERATED")
        object.__setattr__(self, "depreciation", shares)

    @property
    def real(self) -> float:
        """Discount rate free of inflation [1/year]."""
        return real_rate(self.rate, self.inflation) if self.nominal else self.rate

    @property
    def with_inflation(self) -> float:
        """Nominal discount rate [1/year]."""
        return self.rate if self.nominal else (1.0 + self.rate) * (1.0 + self.inflation) - 1.0

    @property
    def recovery(self) -> float:
        """Capital recovery factor at the real rate [1/year]."""
        return capital_recovery(self.real, self.life)

    @property
    def shares_written_off(self) -> tuple[float, ...]:
        """Depreciation for tax, year by year [-]."""
        return self.depreciation or straight_line(int(self.life))

    @property
    def tax_factor(self) -> float:
        """What tax multiplies the yearly charge on capital by [-]."""
        if self.tax == 0.0:
            return 1.0
        return tax_factor(self.tax, depreciation_worth(self.with_inflation, self.shares_written_off))

    @property
    def fixed_charge(self) -> float:
        """Fixed charge rate: share of the capital to be earned each year, tax included [1/year]."""
        return self.recovery * self.tax_factor

    @property
    def construction(self) -> float:
        """Factor of interest during construction [-]."""
        years = int(self.construction_years)
        given = self.construction_rate
        rate = self.real if given is None else real_rate(given, self.inflation) if self.nominal else given
        return construction_factor(rate, [1.0 / years] * years) if years else 1.0

    @property
    def nominal_price_factor(self) -> float:
        """A price that stays the same in the money of each year, over the one in constant money that is worth as much
        [-]."""
        years = int(self.life)
        return (discounted_sum(self.real, years, decay=self.decay)
                / discounted_sum(self.with_inflation, years, decay=self.decay))
