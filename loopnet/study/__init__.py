"""What is best, why, what it would take, and how sure that is: assess a plant, rank many, set two side by side."""

from loopnet.study.assess import Assessment, assess
from loopnet.study.break_even import COMMON_TARGETS, BreakEven, break_even
from loopnet.study.bridge import Bridge, BridgeTerm, bridge
from loopnet.study.case import Case
from loopnet.study.cycles import cycle_states, cycles_of, exchanges_of
from loopnet.study.diff import Difference, diff
from loopnet.study.energy_steps import EnergySteps, energy_steps
from loopnet.study.hot_temperature import TemperatureCurve, TemperaturePoint, best_hot_temperature
from loopnet.study.knob import Knob, knob
from loopnet.study.rank import Ranking, rank
from loopnet.study.reference import Reference, after_dark, references
from loopnet.study.supply import SupplyCurve, supply_curve
from loopnet.study.surface import Surface, fit_surface
from loopnet.study.tornado import Tornado, tornado
from loopnet.study.uncertain import Uncertain, price_ranges, uncertainties
from loopnet.study.uncertainty import Uncertainty, fit_surfaces, uncertainty

__all__ = [
    "COMMON_TARGETS",
    "Assessment",
    "BreakEven",
    "Bridge",
    "BridgeTerm",
    "Case",
    "Difference",
    "EnergySteps",
    "Knob",
    "Ranking",
    "Reference",
    "SupplyCurve",
    "Surface",
    "TemperatureCurve",
    "TemperaturePoint",
    "Tornado",
    "Uncertain",
    "Uncertainty",
    "after_dark",
    "assess",
    "best_hot_temperature",
    "break_even",
    "bridge",
    "cycle_states",
    "cycles_of",
    "diff",
    "energy_steps",
    "exchanges_of",
    "fit_surface",
    "fit_surfaces",
    "knob",
    "price_ranges",
    "rank",
    "references",
    "supply_curve",
    "tornado",
    "uncertainties",
    "uncertainty",
]
