"""What flows: media with their properties, temperature limits, cautions, and the key of their price."""

from loopnet.media.base import Limits, Medium
from loopnet.media.isobar import Isobar
from loopnet.media.registry import media_names, medium
from loopnet.media.solids import Particles
from loopnet.media.water import Water

__all__ = ["Isobar", "Limits", "Medium", "Particles", "Water", "media_names", "medium"]
