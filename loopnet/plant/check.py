"""Is the plant drawn right? Refused before any number is computed, in the words of the person who drew it."""

from __future__ import annotations

from loopnet.errors import TopologyError
from loopnet.media import Medium
from loopnet.plant.plant import Plant, SideRef

__all__ = ["check_plant"]


def check_plant(plant: Plant) -> None:
    """Refuse a plant with an open port, two media on one side, a wrong phase, or a limit that is passed by design.

    Raises
    ------
    TopologyError
        For what is drawn wrong.
    ParameterError, PropertyRangeError
        Where a parameter does not go with the medium of its loop.
    """
    where = f"plant {plant.name!r}"
    if not plant.components:
        raise TopologyError("the plant has no components", where=where, hint="plant.add(name, component)")
    for name, component in plant.components.items():
        media: dict[str, Medium] = {}
        for side in type(component).sides:
            ref = SideRef(name, side)
            loop_in = [s.loop for s in plant.streams if s.target == ref]
            loop_out = [s.loop for s in plant.streams if s.source == ref]
            for loops, end in ((loop_in, "inlet"), (loop_out, "outlet")):
                if not loops:
                    raise TopologyError(f"the {end} of {ref} is open", where=where, got="no stream",
                                        hint=f"put {ref} on a path of a loop and close the path")
            if loop_in[0] != loop_out[0]:
                one, two = plant.loops[loop_in[0]], plant.loops[loop_out[0]]
                raise TopologyError(
                    f"two loops meet in one side of {name}", where=str(ref),
                    got=f"loop {one.name!r} ({one.medium.name}) enters, loop {two.name!r} ({two.medium.name}) leaves",
                    hint="keep one medium in one loop; loops touch only through components with two sides")
            media[side] = plant.loops[loop_in[0]].medium
            allowed = type(component).phases.get(side)
            if allowed and media[side].phase not in allowed:
                raise TopologyError(f"{name} cannot carry this medium", where=str(ref),
                                    got=f"{media[side].name} ({media[side].phase})", allowed=", ".join(allowed),
                                    hint=f"another component in place of {name}, or another medium in the loop")
        component.check(media)
