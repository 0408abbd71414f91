"""What happens: circuits cut at the stores, the hourly march, dispatch."""

from loopnet.year.dispatch import RoundTheClock
from loopnet.year.result import Year
from loopnet.year.run import run_year

__all__ = ["RoundTheClock", "Year", "run_year"]
