"""What is best: assess a plant, rank many, set two side by side, see how well a store keeps up supply."""

from loopnet.study.assess import Assessment, assess
from loopnet.study.diff import Difference, diff
from loopnet.study.rank import Ranking, rank
from loopnet.study.supply import SupplyCurve, supply_curve

__all__ = ["Assessment", "Difference", "Ranking", "SupplyCurve", "assess", "diff", "rank", "supply_curve"]
