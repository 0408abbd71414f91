"""The cheapest pipe: derivatives that vanish, the critical radius, closed forms and a textbook rule of diameters."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from components.economic_pipe import (
    PipeDuty,
    PipeMoney,
    optimal_diameter,
    optimal_insulation,
    optimal_pipe,
    yearly_cost,
)
from components.legs import Leg
from components.pipe import HeaderPipe
from components.pipe_heat import conductance_per_metre
from components.piping import Insulation, Steel
from loopnet.errors import ParameterError
from loopnet.money import price_book
from loopnet.solve import size

DUTY = PipeDuty(flow=100, density=770, viscosity=2e-4, temperature="390 degC")
MONEY = PipeMoney()


def slope(cost, at, step=1e-4):
    """Relative change of a cost per relative change of its argument, by central differences of fourth order."""
    f = [float(np.squeeze(cost(at * (1 + k * step)))) for k in (-2, -1, 1, 2)]
    return (f[0] - 8 * f[1] + 8 * f[2] - f[3]) / (12 * step) / float(np.squeeze(cost(at)))


LEGS = (Leg("runner", 1.0, 100.0), Leg("main", 2.0, 240.0, taps=2.0), Leg("branches", 8.0, 700.0, taps=30.0))


@pytest.mark.law
@given(flow=st.floats(0.05, 500), t=st.floats(420, 900), heat=st.floats(0.005, 0.06), wool=st.floats(200, 1500),
       hot=st.floats(2000, 8760), branched=st.booleans())
@settings(max_examples=12, deadline=None)
def test_at_the_optimum_the_derivative_is_zero(flow, t, heat, wool, hot, branched):
    duty = replace(DUTY, flow=flow, temperature=t, gauge=0.0)
    money = PipeMoney(heat=heat / 3.6e6, insulation=wool, hot=hot * 3600)
    legs = LEGS if branched else (Leg("pipe", 1.0, 1.0),)
    smooth = Steel(minimum=0.0, allowance=3e-3)  # a wall that grows without a kink
    d, s = optimal_pipe(duty, money, legs=legs, steel=smooth)

    def cost(diameter, thickness):
        return yearly_cost(duty, money, diameter, thickness, legs=legs, steel=smooth).total

    assert abs(slope(lambda x: cost(x, s), d)) < 1e-6
    assert abs(slope(lambda x: cost(d, x), s)) < 1e-6
    for way in (0.9, 1.1):
        assert cost(d * way, s) > cost(d, s) < cost(d, s * way)


# Critical radius of insulation r = k/h, textbooks (Incropera; Cengel ch. 3): a thin tube loses most there. k 0.2 W/mK,
# h 2.8 + 3 v = 8.8 W/m2K without radiation: 22.7 mm (exact).
@pytest.mark.book
def test_critical_radius():
    inner = 0.005
    radius = np.linspace(0.012, 0.04, 2801)
    loss = [float(conductance_per_metre(400.0, 300.0, 2 * inner, Insulation(
        thickness=r - inner, k0=0.2, k1=0.0, k2=0.0, emissivity=0.0, bridges=1.0), 2.0)) for r in radius]
    assert radius[int(np.argmax(loss))] == pytest.approx(0.2 / 8.8, abs=2e-5)


# Wool of constant k, film of constant h: with r1, r2 the radii, the least of a pi (r2^2 - r1^2) + b dT U' is where
# 2 pi a r2 = b dT U'^2 (1/k - 1/(r2 h)) / (2 pi r2), U' = 2 pi / (ln(r2/r1)/k + 1/(r2 h)) (exact, by hand).
@pytest.mark.book
def test_insulation_against_its_condition_by_hand():
    k, h = 0.06, 2.8 + 3 * 2.5
    plain = Insulation(k0=k, k1=0.0, k2=0.0, emissivity=0.0, bridges=1.0)
    thickness = optimal_insulation(DUTY, MONEY, 0.2, insulation=plain)
    r1 = 0.206 / 2
    r2 = r1 + thickness
    loss = 2 * np.pi / (np.log(r2 / r1) / k + 1 / (r2 * h))
    bought = MONEY.annuity * MONEY.insulation * 2 * np.pi * r2
    saved = MONEY.heat * MONEY.hot * (DUTY.temperature - DUTY.ambient) * loss**2 * (1 / k - 1 / (r2 * h)) / (
        2 * np.pi * r2)
    assert bought == pytest.approx(saved, rel=1e-6)


# Peters & Timmerhaus, Plant Design and Economics (memory): turbulent, D = 0.363 q^0.45 rho^0.13, so the exponent of
# flow is 0.45 (and of density at the same volume 0.13), for pipe whose price goes with D^1.5, as it does here where
# pressure makes half of the wall. Tolerance 0.04, and a factor of 1.5 for the money of another decade.
@pytest.mark.book
def test_textbook_rule_of_economic_diameter():
    cold = replace(DUTY, temperature="60 degC", viscosity=1e-3, density=1000.0, flow=80.0)
    market = PipeMoney(heat=0.0, flowing="8000 hour", insulation=0.0)

    def best(**changed):
        return optimal_diameter(replace(cold, **changed), market, 0.02, steel=Steel(minimum=0.0))

    d = best()
    flow = np.log(best(flow=120.0) / d) / np.log(1.5)
    dense = np.log(best(flow=80.0 * 1.3, density=1300.0) / d) / np.log(1.3)
    assert flow == pytest.approx(0.45, abs=0.04)
    assert dense == pytest.approx(0.13, abs=0.04)
    assert 1 / 1.5 < d / (0.363 * 0.08**0.45 * 1000**0.13) < 1.5


def test_dearer_heat_wants_more_wool_and_dearer_power_a_wider_pipe():
    assert (optimal_insulation(DUTY, replace(MONEY, heat=2 * MONEY.heat), 0.25)
            > optimal_insulation(DUTY, MONEY, 0.25))
    assert (optimal_diameter(DUTY, replace(MONEY, electricity=2 * MONEY.electricity), 0.1)
            > optimal_diameter(DUTY, MONEY, 0.1))


def test_parts_scale_and_add_up():
    one = yearly_cost(DUTY, MONEY, 0.25, 0.1)
    ten = yearly_cost(DUTY, MONEY, 0.25, 0.1, legs=[Leg("pipe", 1.0, 10.0)])
    assert float(ten.total) == pytest.approx(10 * float(one.total))
    assert float(one.total) == pytest.approx(float(one.steel + one.insulation + one.heat + one.pumping))


def test_heat_that_is_worth_nothing_is_not_insulated():
    with pytest.raises(ParameterError, match="end of the range of thickness"):
        optimal_insulation(DUTY, replace(MONEY, heat=0.0), 0.25)


def test_prices_of_the_book():
    book = price_book()
    money = PipeMoney.of_book(book, heat="0.04 USD/kWh")
    assert money.steel == pytest.approx(book.line("pipe.steel_erected", quantity=1.0, component="x").usd)
    assert money.heat == pytest.approx(0.04 / 3.6e6)
    assert PipeMoney.of_book(book, gas=True).steel < money.steel


def test_a_header_takes_its_optimum(all_sized):
    sized = all_sized["oil_salt"]
    header: HeaderPipe = sized.plant.components["hot_header"]
    money = PipeMoney.of_book(price_book())
    better = header.optimised(sized.view("hot_header"), money)
    again = size(sized.plant.with_component("hot_header", velocity=better.velocity, insulation=better.insulation))
    inlet = sized.view("hot_header").main.inlet
    fluid, t = inlet.medium, float(inlet.T[0])
    duty = PipeDuty(flow=float(inlet.m[0]), density=float(fluid.rho(t)), viscosity=float(fluid.mu(t)), temperature=t,
                    gauge=float(inlet.p[0]) - 1e5)
    legs = header.legs(sized.view("hot_header"))

    def cost(h: HeaderPipe) -> float:
        velocity = h.velocity or 2.2
        d = np.sqrt(4 * duty.flow / (duty.density * velocity * np.pi))
        return float(np.squeeze(yearly_cost(duty, money, d, h.insulation.thickness, legs=legs).total))

    assert cost(better) < cost(header)
    ratio = again.values["hot_header.diameter"] / sized.values["hot_header.diameter"]
    assert ratio == pytest.approx((2.2 / better.velocity) ** 0.5, rel=0.01)
