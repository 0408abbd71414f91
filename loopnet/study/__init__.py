"""What is best: assess a plant, rank many, set two side by side."""

from loopnet.study.assess import Assessment, assess
from loopnet.study.diff import Difference, diff
from loopnet.study.rank import Ranking, rank

__all__ = ["Assessment", "Difference", "Ranking", "assess", "diff", "rank"]
