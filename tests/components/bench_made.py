"""Made bench tests: a collector with known coefficients, instruments that are off in all rows alike, and scatter."""

from __future__ import annotations

import numpy as np
import pandas as pd

from components.bench_terms import Instruments

TRUE = {"eta0": 0.72, "a1": 0.55, "a2": 0.0022}
APERTURE, CAPACITY, FINE = 12.0, 2000.0, 10
EXACT = Instruments(dni=0, temperature=0, rise=0, ambient=0, wind=0, flow=0, heat_capacity=0, boiled=0, efficiency=0,
                    aperture=0)


def useful(coefficients, over, dni, wind=0.0, angle=0.0):
    """Useful heat [W/m2], written apart from the code under test; angle in degrees."""
    c = {"a1": 0.0, "a2": 0.0, "a3": 0.0, "k2": 0.0, **coefficients}
    beam = dni * np.cos(np.radians(angle))
    return c["eta0"] * beam * (1 + c["k2"] * angle**2) - (c["a1"] + c["a2"] * over + c["a3"] * wind) * over


def made_points(rng=None, coefficients=TRUE, instruments=EXACT, noise=(0.0, 0.0, 0.0), levels=6, each=8, hottest=230.0,
                flow=0.12, wind=None, angle=None) -> pd.DataFrame:
    """A table of steady points, 20 minutes apart. `noise` is the scatter of sun [W/m2], temperatures [K], flow [-]."""
    rng = np.random.default_rng(0) if rng is None else rng
    n = levels * each
    dni, ambient = rng.uniform(750, 1000, n), rng.uniform(18, 30, n)
    inlet = np.repeat(np.linspace(25, hottest, levels), each)
    wind = np.zeros(n) if wind is None else wind(rng, n)
    angle = np.zeros(n) if angle is None else angle(rng, n)
    rise = np.full(n, 20.0)
    for _ in range(60):
        rise = useful(coefficients, inlet + rise / 2 - ambient, dni, wind, angle) * APERTURE / (flow * CAPACITY)
    outlet = inlet + rise
    off = {name: float(rng.normal(0.0, value)) if value else 0.0 for name, value in instruments.to_dict().items()}
    sun, kelvin, share = noise

    def scatter(size):
        return rng.normal(0.0, size, n) if size else 0.0

    return pd.DataFrame({
        "time [min]": 20.0 * np.arange(n),
        "dni [W/m2]": dni * (1 + off["dni"]) + scatter(sun),
        "ambient [degC]": ambient + off["ambient"] + scatter(kelvin),
        "wind [m/s]": wind,
        "inlet [degC]": inlet + off["temperature"] - off["rise"] / 2 + scatter(kelvin),
        "outlet [degC]": outlet + off["temperature"] + off["rise"] / 2 + scatter(kelvin),
        "flow [kg/s]": flow * (1 + off["flow"]) * (1 + off["heat_capacity"]) + scatter(share * flow),
        "incidence [deg]": angle})


FACTS = {"aperture": APERTURE, "heat_capacity": CAPACITY, "medium": "oil", "density": 850.0}
"""What `fit_collector` is told beside the table."""


def made_log(rng=None, coefficients=TRUE, warms=5000.0, step=2.0, settle=3.0, faults=True) -> pd.DataFrame:
    """A log of a day every `step` minutes: inlet held in five stages, a cloud, a hiccup of the flow meter, a
    while in which something shades the instrument of the sun. `warms` is the heat capacity
    [J/m2K], `settle` the time in which the inlet follows [min]; without `faults` nothing goes wrong."""
    rng = np.random.default_rng(3) if rng is None else rng
    fine = np.arange(0.0, 350.0, step / FINE)
    aim = np.array([35.0, 95.0, 155.0, 215.0, 265.0])[np.minimum((fine // 70).astype(int), 4)]
    inlet = np.empty(fine.size)
    inlet[0] = 35.0
    for i in range(1, fine.size):
        inlet[i] = aim[i] + (inlet[i - 1] - aim[i]) * np.exp(-step / FINE / settle)
    dni, ambient, flow = 930.0 - 60.0 * ((fine - 175.0) / 175.0) ** 2, 24.0 + fine / 60.0, 0.12
    if faults:
        dni[(fine >= 180) & (fine < 190)] *= 0.45
    per_kelvin, stored = flow * CAPACITY / APERTURE, warms / (60.0 * step / FINE)
    rise = np.full(fine.size, 35.0)
    for i in range(1, fine.size):  # the end of each short step, implicit
        before = inlet[i - 1] + rise[i - 1] / 2
        rise[i] = rise[i - 1]
        for _ in range(4):
            gained = useful(coefficients, inlet[i] + rise[i] / 2 - ambient[i], dni[i]) - stored * (inlet[i] - before)
            rise[i] = gained / (per_kelvin + stored / 2)
    minutes, dni, ambient, inlet, rise = (x[::FINE] for x in (fine, dni, ambient, inlet, rise))
    n = minutes.size
    dni, wind = dni + rng.normal(0, 4.0, n), np.clip(rng.normal(2.2, 0.4, n), 0.0, None)
    litres = flow / (880.0 - 0.6 * (inlet - 20.0)) * 60e3 + rng.normal(0, 0.02, n)
    if faults:
        litres[(minutes >= 114) & (minutes < 118)] *= 1.08
        dni[(minutes >= 258) & (minutes < 268)] *= 0.92
    return pd.DataFrame({
        "time [min]": minutes, "dni [W/m2]": dni.round(0), "ambient [degC]": ambient.round(1),
        "wind [m/s]": wind.round(1),
        "inlet [degC]": (inlet + rng.normal(0, 0.05, n)).round(2),
        "outlet [degC]": (inlet + rise + rng.normal(0, 0.05, n)).round(2), "flow [L/min]": litres.round(3)})


KETTLE = {"eta0": 0.62, "a1": 1.6}


def made_boil(rng=None, coefficients=KETTLE, aperture=1.8, kelvin=96.0, latent=2.268e6, noise=0.015,
              n=16) -> pd.DataFrame:
    """A kettle in a focus, weighed every half hour from morning to noon; it boils at `kelvin` [degC]."""
    rng = np.random.default_rng(5) if rng is None else rng
    dni = np.linspace(420.0, 940.0, n) + rng.normal(0, 8.0, n)
    ambient = np.linspace(14.0, 27.0, n)
    heat = useful(coefficients, kelvin - ambient, dni) * aperture
    boiled = heat / latent * 3600.0 * (1 + (rng.normal(0, noise, n) if noise else 0.0))
    clock = [f"{8 + i // 2:02d}:{30 * (i % 2):02d}" for i in range(n)]
    return pd.DataFrame({"time": clock, "dni [W/m2]": dni, "ambient [degC]": ambient, "boiled [kg/h]": boiled})
