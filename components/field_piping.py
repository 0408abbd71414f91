"""Devices, rows, headers: the pipes of a field in closed form, from the size of one device and what lies around it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Any

import numpy as np

from components.legs import Leg
from components.piping import Insulation
from components.row import Row
from loopnet.errors import ParameterError
from loopnet.params import Parameters, param

__all__ = ["FieldPiping"]

_PRACTICE = "common practice, no source"


@dataclass(frozen=True, kw_only=True)
class FieldPiping(Parameters):
    """Where the pipes of a field run. Devices stand in series along a row; rows hang on both sides of branch headers;
    branch headers hang on both sides of a main header, fed in its middle, where a runner comes from the store.

    Two branch headers make an I, four an H; more make a longer spine. Nothing is looped: a field of ten million
    devices is as quick as one of a thousand.

    >>> trough = FieldPiping(device="650 m2", spacing="122 m", row_spacing="15 m", tube="120 m", branches=4)
    >>> row = trough.row()
    >>> row.aperture, row.length, row.fittings
    (2600.0, 503.0, 11.8)
    >>> [(leg.name, leg.count, leg.length) for leg in trough.legs(520e3)]
    [('runner', 1.0, 100.0), ('main header', 2.0, 244.0), ('branch headers', 4.0, 750.0)]
    """

    device: Any = param(unit="m^2", low=0.1, high=1e5, source="user", doc="aperture of one device")
    in_series: Any = param(4.0, unit="-", low=1.0, high=1e5, source="user", doc="devices on one flow path")
    spacing: Any = param(unit="m", low=0.1, high=1e4, source="user", doc="from device to device along a row")
    row_spacing: Any = param(unit="m", low=0.1, high=1e4, source="user", doc="from line to line of devices")
    tube: Any = param(0.0, unit="m", low=0.0, high=1e4, source="user",
                      doc="receiver tube of one device; 0 where the receiver is a point")
    riser: Any = param(0.0, unit="m", low=0.0, high=1e3, source="user",
                       doc="pipe of one device from the row up to its receiver and back")
    turn: bool = True
    """Whether a row comes back as its own neighbour; if not, an empty pipe brings the flow back."""
    branches: Any = param(2.0, unit="-", low=1.0, high=1e5, optional=True, source="user",
                          doc="branch headers: 1 fed at its end, 2 an I, 4 an H; as many as make a square if None")
    trunk: bool = True
    """Whether one runner and a main header feed all branch headers; if not, each has a runner of its own."""
    runner: Any = param(100.0, unit="m", low=0.0, high=1e5, source="assumption", doc="from the store to the field")
    diameter: Any = param(0.066, unit="m", low=1e-3, high=3.0, source=_PRACTICE, doc="inner, of the row")
    joints: Any = param(2.0, unit="-", low=0.0, high=20.0, source=_PRACTICE,
                        doc="flexible joints per device that turns with its receiver; 0 for a fixed one")
    elbows: Any = param(4.0, unit="-", low=0.0, high=40.0, source=_PRACTICE, doc="per device")
    valves: Any = param(3.0, unit="-", low=0.0, high=20.0, source=_PRACTICE,
                        doc="per row: two to shut it off, one to set its flow")
    joint_loss: Any = param(0.5, unit="-", low=0.0, high=20.0, source="assumption",
                            doc="velocity heads of one flexible joint")
    elbow_loss: Any = param(0.3, unit="-", low=0.0, high=5.0, source="flanged regular elbow, handbooks, memory",
                            doc="velocity heads of one elbow")
    valve_loss: Any = param(1.0, unit="-", low=0.0, high=100.0, source="assumption: gate 0.2 to globe, throttling",
                            doc="velocity heads of one valve")
    joint_length: Any = param(0.5, unit="m", low=0.0, high=20.0, source="assumption",
                              doc="insulated pipe that loses as much as one joint")
    insulation: Insulation | None = None
    """Of the pipes in a row between receivers; None where they are not reckoned."""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.tube > self.spacing:
            raise ParameterError("receiver tubes overlap", where="FieldPiping.tube", got=f"{self.tube:g} m",
                                 allowed=f"0 to the spacing, {self.spacing:g} m", hint="a larger spacing")

    # -- one row ---------------------------------------------------------------------------------------------------

    @property
    def row_aperture(self) -> float:
        """Aperture on one flow path [m2]."""
        return float(self.device * self.in_series)

    @property
    def row_pipe(self) -> float:
        """Pipe of one row outside receivers [m]: gaps, risers, and the turn, or the empty pipe back."""
        back = self.row_spacing if self.turn else self.in_series * self.spacing
        return float(self.in_series * (self.spacing - self.tube + self.riser) + back)

    @property
    def row_fittings(self) -> float:
        """Loss coefficient of one row [velocity heads]."""
        each = self.joints * self.joint_loss + self.elbows * self.elbow_loss
        return float(self.in_series * each + self.valves * self.valve_loss)

    def row(self) -> Row:
        """The row as a field of collectors takes it: its tube, the pipe between, the fittings and their number."""
        return Row(aperture=self.row_aperture, length=self.in_series * self.tube + self.row_pipe, pipe=self.row_pipe,
                   diameter=self.diameter, fittings=self.row_fittings, insulation=self.insulation, valves=self.valves,
                   joints=self.joints * self.in_series, joint_length=self.joint_length)

    # -- headers ---------------------------------------------------------------------------------------------------

    @property
    def depth(self) -> float:
        """How far a row reaches from its header [m]."""
        return float(self.in_series * self.spacing / (2.0 if self.turn else 1.0))

    @property
    def width(self) -> float:
        """Header that a pair of rows, one on each side, takes [m]."""
        return float(self.row_spacing * (2.0 if self.turn else 1.0))

    def rows(self, aperture: Any) -> Any:
        """Flow paths in a field of some aperture [m2]; not rounded."""
        return aperture / self.row_aperture

    def legs(self, aperture: Any) -> list[Leg]:
        """Stages between store and rows of a field of some aperture [m2], largest first, for one temperature."""
        pairs = self.rows(aperture) / 2.0
        square = np.maximum(np.sqrt(2.0 * pairs * self.width / self.depth), 2.0)
        branches = square if self.branches is None else self.branches
        legs = [Leg("runner", 1.0 if self.trunk else branches, self.runner)]
        if self.trunk and (self.branches is None or self.branches > 2.0):
            legs.append(Leg("main header", 2.0, (branches / 2.0 - 1.0) * self.depth,
                            taps=np.maximum(branches / 4.0, 1.0)))
        return [*legs, Leg("branch headers", branches, pairs / branches * self.width,
                           taps=np.maximum(pairs / branches, 1.0))]

    @property
    def length_per_aperture(self) -> float:
        """Branch header per aperture [1/m], whatever the number of branches."""
        return self.width / (2.0 * self.row_aperture)

    def counts(self, aperture: float) -> dict[str, float]:
        """Pieces of a field of some aperture [m2]; not rounded."""
        rows = float(self.rows(aperture))
        devices = rows * self.in_series
        return {"devices": devices, "rows": rows, "flexible joints": devices * self.joints,
                "elbows": devices * self.elbows, "valves": rows * self.valves, "tees": 2.0 * rows}

    # -- other fields like it --------------------------------------------------------------------------------------

    def split(self) -> FieldPiping:
        """The same rows with each device cut in two across the row: half the aperture, as many joints each."""
        return replace(self, device=self.device / 2.0, spacing=self.spacing / 2.0, tube=self.tube / 2.0,
                       in_series=2.0 * self.in_series, riser=self.riser / sqrt(2.0))

    @classmethod
    def of_points(cls, device: Any, *, cover: float = 0.35, gap: float = 1.3, height: float = 1.0,
                  **others: Any) -> FieldPiping:
        """A field of small concentrators with point receivers that look alike whatever their size.

        Parameters
        ----------
        device : float or str
            Aperture of one device [m2].
        cover : float
            Aperture over land [-].
        gap : float
            Distance of devices along a row over the side of a square of their aperture [-].
        height : float
            How high receivers stand over the row, over that side [-]; the riser goes up and down.
        **others
            More parameters of the field.

        Returns
        -------
        FieldPiping

        Examples
        --------
        >>> field = FieldPiping.of_points("100 m2", in_series=10)
        >>> field.spacing, round(field.row_spacing, 1), field.riser
        (13.0, 22.0, 20.0)
        """
        from loopnet.units import to_si

        area = to_si(device, "m^2")
        side = sqrt(area)
        return cls(device=area, spacing=gap * side, row_spacing=side / (cover * gap), riser=2.0 * height * side,
                   **others)
