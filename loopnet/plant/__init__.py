"""What is drawn: ports, component protocol, loops, the graph."""

from loopnet.plant.check import check_plant
from loopnet.plant.component import ENTERS, Component, Equation, Term, Unknown
from loopnet.plant.design import Design
from loopnet.plant.plant import Loop, Placed, Plant, SideRef, Stream

__all__ = ["ENTERS", "Component", "Design", "Equation", "Loop", "Placed", "Plant", "SideRef", "Stream", "Term",
           "Unknown", "check_plant"]
