"""What is drawn: ports, component protocol, loops, the graph."""

from loopnet.plant.check import check_plant
from loopnet.plant.component import ENTERS, Component, Equation, Term, Unknown
from loopnet.plant.cycle import Cycle, CyclePath, CycleState, HeatCurve, HeatExchange, Pinch
from loopnet.plant.design import Design
from loopnet.plant.plant import Loop, Placed, Plant, SideRef, Stream

__all__ = ["ENTERS", "Component", "Cycle", "CyclePath", "CycleState", "Design", "Equation", "HeatCurve",
           "HeatExchange", "Loop", "Pinch", "Placed", "Plant", "SideRef", "Stream", "Term", "Unknown", "check_plant"]
