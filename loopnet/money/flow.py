"""The cash flow of a plant, year by year, at a selling price: net present value, internal rate of return, payback."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, isfinite
from typing import TYPE_CHECKING, Any

import numpy as np

from loopnet.errors import ParameterError
from loopnet.money.cashflow import replacement_years
from loopnet.money.finance import Finance
from loopnet.money.result import LevelisedCost
from loopnet.params import check_range
from loopnet.shown import shown

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["CashFlow", "cash_flow", "internal_rate", "net_present_value", "payback_time"]

COLUMNS = ("capital", "construction loan", "sales", "fixed O&M", "washing and other yearly lines", "variable O&M",
           "replacements", "tax", "salvage")


def net_present_value(rate: float, flows: Sequence[float], times: Sequence[float] | None = None) -> float:
    """Worth today of payments, sum of F_t / (1 + r)^t.

    Parameters
    ----------
    rate : float
        Discount rate [1/year].
    flows : sequence of float, shape (n,)
        Payments, income above zero [USD].
    times : sequence of float, shape (n,), or None
        When each is paid [year]; 0, 1, 2, ... if None.

    Returns
    -------
    float
        Net present value [USD].

    Examples
    --------
    The example of numpy-financial's manual:

    >>> round(net_present_value(0.08, [-40_000, 5_000, 8_000, 12_000, 30_000]), 8)
    3065.22266818
    """
    check_range(rate, where="net_present_value.rate", unit="-", low=-0.99, high=100.0)
    when = range(len(flows)) if times is None else times
    return fsum(flow / (1.0 + rate) ** t for flow, t in zip(flows, when, strict=True))


def internal_rate(flows: Sequence[float], times: Sequence[float] | None = None) -> float | None:
    """Discount rate at which payments are worth nothing together.

    Parameters
    ----------
    flows : sequence of float, shape (n,)
        Payments, income above zero [USD].
    times : sequence of float, shape (n,), or None
        When each is paid [year]; 0, 1, 2, ... if None.

    Returns
    -------
    float or None
        Internal rate of return [1/year]: the lowest between -90 % and 1000 %, if there are several; None if there is
        none, as where income never pays back the capital at any rate.

    Examples
    --------
    The example of numpy-financial's manual:

    >>> round(internal_rate([-250_000, 100_000, 150_000, 200_000, 250_000, 300_000]), 12)
    0.567230334436
    """
    from scipy.optimize import brentq

    def worth(growth: float) -> float:
        return net_present_value(float(np.expm1(growth)), flows, times)

    grid = np.log1p(np.concatenate([np.linspace(-0.9, 1.0, 96), np.geomspace(1.05, 10.0, 24)]))
    values = [worth(g) for g in grid]
    for low, high, first, second in zip(grid[:-1], grid[1:], values[:-1], values[1:], strict=True):
        if first == 0.0 and any(flows):
            return float(np.expm1(low))
        if first * second < 0.0:
            return float(np.expm1(brentq(worth, low, high, xtol=1e-15, rtol=1e-14)))
    return None


def payback_time(flows: Sequence[float], times: Sequence[float] | None = None, *, rate: float = 0.0) -> float | None:
    """When the sum of payments turns positive for good, income being spread evenly over the time before it is counted.

    Parameters
    ----------
    flows : sequence of float, shape (n,)
        Payments, income above zero [USD].
    times : sequence of float, shape (n,), or None
        When each is paid, rising [year]; 0, 1, 2, ... if None.
    rate : float
        Discount rate [1/year]; 0 gives the simple payback.

    Returns
    -------
    float or None
        Time [year]; None if it never does.

    Examples
    --------
    >>> payback_time([-1000, 400, 400, 400]), payback_time([-1000, 300, 300])
    (2.5, None)
    """
    when = list(range(len(flows)) if times is None else times)
    sums = np.cumsum([flow / (1.0 + rate) ** t for flow, t in zip(flows, when, strict=True)])
    below = np.flatnonzero(sums < 0.0)
    if not len(below):
        return float(when[0])
    last = int(below[-1])
    if last == len(when) - 1:
        return None
    share = -sums[last] / (sums[last + 1] - sums[last])
    return float(when[last] + share * (when[last + 1] - when[last]))


@dataclass(frozen=True, kw_only=True)
class CashFlow:
    """Payments of a plant in the money of one year, income above zero.

    Parameters
    ----------
    times : tuple of float
        When they fall, start-up at 0; years of building before it [year].
    columns : dict
        Payments by `COLUMNS` [USD].
    rate, inflation : float
        Real discount rate and inflation [1/year].
    usd_per_kwh_electricity, usd_per_kwh_heat : float or None
        Prices at which is sold [USD/kWh].
    money_year : int
        Year of the money [year].
    """

    times: tuple[float, ...]
    columns: dict[str, tuple[float, ...]]
    rate: float
    inflation: float
    usd_per_kwh_electricity: float | None
    usd_per_kwh_heat: float | None
    money_year: int

    @property
    def net(self) -> tuple[float, ...]:
        """Sum of all columns at each time [USD]."""
        return tuple(fsum(row) for row in zip(*self.columns.values(), strict=True))

    @property
    def net_present_value(self) -> float:
        """Worth at start-up, at the real discount rate [USD]; 0 at the levelised cost."""
        return net_present_value(self.rate, self.net, self.times)

    @property
    def internal_rate(self) -> float | None:
        """Internal rate of return, free of inflation [1/year]; None if there is none."""
        return internal_rate(self.net, self.times)

    @property
    def internal_rate_nominal(self) -> float | None:
        """The same with inflation [1/year]."""
        real = self.internal_rate
        return None if real is None else (1.0 + real) * (1.0 + self.inflation) - 1.0

    @property
    def payback(self) -> float | None:
        """Years after start-up until the capital is back, without interest [year]; None if never."""
        return payback_time(self.net, self.times)

    @property
    def discounted_payback(self) -> float | None:
        """The same with interest at the discount rate [year]."""
        return payback_time(self.net, self.times, rate=self.rate)

    def to_frame(self) -> pd.DataFrame:
        """One row per time; columns that are zero throughout are left out [USD]."""
        import pandas as pd

        table = pd.DataFrame(self.columns, index=pd.Index(self.times, name="year"))
        table = table.loc[:, (table != 0.0).any()]
        table["net"] = self.net
        return table

    def to_dict(self) -> dict[str, Any]:
        """Plain dict of numbers."""
        return {"times": list(self.times), "columns_usd": {k: list(v) for k, v in self.columns.items()},
                "net_usd": list(self.net), "net_present_value_usd": self.net_present_value,
                "internal_rate": self.internal_rate, "internal_rate_nominal": self.internal_rate_nominal,
                "payback_years": self.payback, "discounted_payback_years": self.discounted_payback,
                "rate": self.rate, "inflation": self.inflation, "money_year": self.money_year,
                "usd_per_kwh_electricity": self.usd_per_kwh_electricity, "usd_per_kwh_heat": self.usd_per_kwh_heat}

    def __repr__(self) -> str:
        found = self.internal_rate
        rate = "no internal rate" if found is None else f"internal rate {100 * found:.3g} % real"
        return f"<CashFlow of {len(self.times)} payments: worth {self.net_present_value / 1e6:.4g} MUSD, {rate}>"

    def _repr_html_(self) -> str:
        return shown(self)


def cash_flow(cost: LevelisedCost, *, electricity: float | None = None, heat: float | None = None) -> CashFlow:
    """What is paid and earned over the life of a plant when its product is sold at a price.

    Parameters
    ----------
    cost : LevelisedCost
        The plant's cost, with its bill, finance and yearly delivery.
    electricity, heat : float or None
        Selling prices in constant money [USD/kWh]; the levelised costs if both are None.

    Returns
    -------
    CashFlow
        At the levelised cost it is worth 0 and its internal rate is the discount rate.

    Raises
    ------
    ParameterError
        If a price is given for what the plant does not deliver, or is not finite.

    Notes
    -----
    Spending while building is drawn from a loan at the construction rate, which is paid back with its interest at
    start-up; all later payments fall at the ends of years, replacements when a life ends. Depreciation is nominal money
    and loses worth by inflation; replacements are written off at once; tax below zero is a credit against other profit.

    Examples
    --------
    >>> from loopnet.money import Bill, cash_flow, levelise, price_book
    >>> bill = Bill([price_book().line("medium.quartz_sand", quantity=1e6, component="silo")])
    >>> flow = cash_flow(levelise(bill, heat=1e6))
    >>> abs(flow.net_present_value) < 1e-6, round(flow.internal_rate, 9)
    (True, 0.07)
    """
    finance, life = Finance(**cost.finance), int(cost.finance["life"])
    given = {"electricity": (electricity, cost.electricity), "heat": (heat, cost.heat)}
    for name, (price, delivered) in given.items():
        if price is not None and (not isfinite(price) or not delivered):
            raise ParameterError(f"a price for {name} that the plant does not deliver" if not delivered else
                                 "not a price", where=f"cash_flow.{name}", got=f"{price}",
                                 allowed="a finite price of what is delivered", hint=f"{name}=None")
    if electricity is None and heat is None:
        electricity, heat = cost.usd_per_kwh_electricity, cost.usd_per_kwh_heat
    sales = (electricity or 0.0) * (cost.electricity or 0.0) + (heat or 0.0) * (cost.heat or 0.0)

    lines = [line for line in cost.bill if line.kind == "capital" and line.life is not None]
    again = [(t, line) for line in lines for t in replacement_years(line.life or life, life)]
    building = int(finance.construction_years)
    spent = cost.capital_usd / finance.construction
    before = [0.5 - k for k in range(building, 0, -1)]
    times = sorted({*before, 0.0, *(float(t) for t in range(1, life + 1)), *(t for t, _ in again)})
    columns: dict[str, list[float]] = {name: [0.0] * len(times) for name in COLUMNS}
    at = {t: place for place, t in enumerate(times)}
    for t in before:
        columns["capital"][at[t]] -= spent / building
        columns["construction loan"][at[t]] += spent / building
    columns["construction loan" if building else "capital"][at[0.0]] -= cost.capital_usd
    yearly = cost.bill.yearly
    delivered = cost.electricity or 0.0
    counted = delivered + finance.heat_worth * (cost.heat or 0.0) if delivered else cost.heat or 0.0
    for t, line in again:
        columns["replacements"][at[t]] -= line.renewed
    for year in range(1, life + 1):
        place, left = at[float(year)], (1.0 - finance.decay) ** (year - 1)
        columns["sales"][place] = sales * left
        columns["fixed O&M"][place] = -(cost.fixed_om - yearly)
        columns["washing and other yearly lines"][place] = -yearly
        columns["variable O&M"][place] = -cost.variable_om * counted * left
    columns["salvage"][at[float(life)]] = finance.salvage * cost.bill.total
    if finance.tax:
        written = finance.shares_written_off
        for t, place in at.items():
            profit = fsum(columns[name][place] for name in COLUMNS[2:]) if t > 0 else 0.0
            share = written[int(t) - 1] if 0 < t <= len(written) and t == int(t) else 0.0
            columns["tax"][place] = -finance.tax * (profit - share * cost.capital_usd / (1.0 + finance.inflation) ** t)
    return CashFlow(times=tuple(times), columns={name: tuple(values) for name, values in columns.items()},
                    rate=finance.real, inflation=finance.inflation,
                    usd_per_kwh_electricity=electricity if cost.electricity else None,
                    usd_per_kwh_heat=heat if cost.heat else None, money_year=cost.bill.lines[0].money_year)
