"""What it costs: a price book with sources, bills of cost lines, cash flow, and the levelised cost with its formula."""

from loopnet.money.bill import Bill, CostLine
from loopnet.money.book import PriceBook
from loopnet.money.cashflow import (
    capital_recovery,
    construction_factor,
    discounted_sum,
    real_rate,
    replacement_worth,
    replacement_years,
)
from loopnet.money.equipment import bare_module, exchanger_cost, guthrie_factor, tank_cost
from loopnet.money.finance import ACCELERATED, Finance, depreciation_worth, straight_line, tax_factor
from loopnet.money.flow import CashFlow, cash_flow, internal_rate, net_present_value, payback_time
from loopnet.money.levelise import levelise
from loopnet.money.materialfile import bill_of_materials
from loopnet.money.materials import BillOfMaterials, Part, volume_factor
from loopnet.money.pricefile import price_book
from loopnet.money.prices import Price
from loopnet.money.result import LevelisedCost

__all__ = [
    "ACCELERATED",
    "Bill",
    "BillOfMaterials",
    "CashFlow",
    "CostLine",
    "Finance",
    "LevelisedCost",
    "Part",
    "Price",
    "PriceBook",
    "bare_module",
    "bill_of_materials",
    "capital_recovery",
    "cash_flow",
    "construction_factor",
    "depreciation_worth",
    "discounted_sum",
    "exchanger_cost",
    "guthrie_factor",
    "internal_rate",
    "levelise",
    "net_present_value",
    "payback_time",
    "price_book",
    "real_rate",
    "replacement_worth",
    "replacement_years",
    "straight_line",
    "tank_cost",
    "tax_factor",
    "volume_factor",
]
