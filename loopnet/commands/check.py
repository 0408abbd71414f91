"""`loopnet check`: a drawing and its design point."""

from __future__ import annotations

from loopnet.commands.options import Debug, PlantName

__all__ = ["check"]


def check(plant: PlantName, debug: Debug = False) -> None:
    """Check a drawing: ports, media, specifications, temperatures; solve the design point and print its balance."""
    from loopnet.plants import find_plant
    from loopnet.report import print_check
    from loopnet.solve import size

    print_check(size(find_plant(plant)))
