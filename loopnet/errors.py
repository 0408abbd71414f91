"""What can go wrong, named by meaning; every error carries its facts and says what to try."""

from __future__ import annotations

__all__ = [
    "ConvergenceError",
    "DataError",
    "LoopnetError",
    "ParameterError",
    "PropertyRangeError",
    "SpecificationError",
    "TopologyError",
]


class LoopnetError(Exception):
    """Root of all errors of this library.

    The facts are attributes, so that a caller can act on them, and all have defaults, so that an error
    pickles across processes.

    >>> print(ParameterError("area is negative", where="field.aperture", got="-3 m2", allowed="0 to 1e8 m2",
    ...                      hint="give the aperture as a positive area"))
    field.aperture: area is negative; got -3 m2; allowed: 0 to 1e8 m2. Try: give the aperture as a positive area.
    """

    def __init__(self, what: str = "", *, where: str = "", got: str = "", allowed: str = "", hint: str = "") -> None:
        self.what, self.where, self.got, self.allowed, self.hint = what, where, got, allowed, hint
        super().__init__(what)

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        text += f"; got {self.got}" if self.got else ""
        text += f"; allowed: {self.allowed}" if self.allowed else ""
        return text + (f". Try: {self.hint}." if self.hint else "")

    def __reduce__(self) -> tuple[object, ...]:
        return (_rebuild, (type(self), self.__dict__.copy()))


def _rebuild(kind: type[LoopnetError], facts: dict[str, str]) -> LoopnetError:
    error = kind(facts.get("what", ""))
    error.__dict__.update(facts)
    return error


class ParameterError(LoopnetError):
    """A parameter is outside its range, of the wrong unit, or of the wrong kind."""


class TopologyError(LoopnetError):
    """The plant is drawn wrong: an open port, two media in one loop, a component joined twice."""


class SpecificationError(LoopnetError):
    """Too few or too many specifications: a flow that nothing sets, or two that fight."""


class PropertyRangeError(LoopnetError):
    """A medium was asked for a property outside its range."""


class ConvergenceError(LoopnetError):
    """Equations that should have a solution did not reach it, or the certificate does not hold."""


class DataError(LoopnetError):
    """A file, a column or a row of data cannot be used as it is."""
