"""What happens: circuits cut at the stores, the hourly march, dispatch."""

from loopnet.year.demand import LoadProfile, PriceSeries
from loopnet.year.dispatch import EveningWindow, FollowTheSun, RoundTheClock, Rule
from loopnet.year.operation import Operation
from loopnet.year.plan import OptimalPlan
from loopnet.year.result import Year
from loopnet.year.run import run_year
from loopnet.year.series import Series, read_series

__all__ = ["EveningWindow", "FollowTheSun", "LoadProfile", "Operation", "OptimalPlan", "PriceSeries", "RoundTheClock",
           "Rule", "Series", "Year", "read_series", "run_year"]
