"""The space of circuits and the search through it: what could be, what cannot, and what is best."""

from loopnet.explore.candidate import SITE, Candidate
from loopnet.explore.pruning import Pruning
from loopnet.explore.space import DEMO, Grammar, Number, Range, Space, grammar

__all__ = ["DEMO", "SITE", "Candidate", "Grammar", "Number", "Pruning", "Range", "Space", "grammar"]
