"""What flows: media with their properties, temperature limits, price and cautions."""

from loopnet.media.base import Limits, Medium, Price
from loopnet.media.isobar import Isobar
from loopnet.media.registry import media_names, medium
from loopnet.media.solids import Particles
from loopnet.media.water import Water

__all__ = ["Isobar", "Limits", "Medium", "Particles", "Price", "Water", "media_names", "medium"]
