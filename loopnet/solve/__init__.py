"""What must hold: structural analysis, batched Newton, the conservation certificate."""

from loopnet.solve.certificate import Certificate
from loopnet.solve.solution import Circuit, Sized, rate, size

__all__ = ["Certificate", "Circuit", "Sized", "rate", "size"]
