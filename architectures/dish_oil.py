"""Dishes heat oil, nitrate salt in two tanks keeps the heat, steam to the turbine.

Small light dishes of Tamarisk Basin (invented), some forty to a row, pass oil on from one to the next.
"""

from components.catalogue import collector, receiver
from components.exchanger import Exchanger
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.inventory import TwoTanks
from components.mover import Mover
from components.pipe import HeaderPipe
from components.piping import Insulation
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("dish_oil", title="Dishes with oil and salt tanks",
                  design=Design(solar_multiple=2.8, store_hours="16 hour"))
    oil = plant.loop("oil", "diphenyl oil", pressure="14 bar")
    salt = plant.loop("salt", "nitrate salt")
    steam = plant.loop("steam", "water", pressure="60 bar")

    piping = FieldPiping.of_points("30 m^2", cover=0.25, gap=2.0, height=0.6, in_series=24, diameter="50 mm",
                                   branches=4, insulation=Insulation(thickness="0.08 m"))
    field = plant.add("field", CollectorField(
        collector=collector("light_dish"), receiver=receiver("cavity"), outlet="392 degC",
        inlet_guess="290 degC", receiver_price="receiver.air_cavity",
        row=piping.row()))
    hot_header = plant.add("hot_header", HeaderPipe(serves="field", layout=piping))
    cold_header = plant.add("cold_header", HeaderPipe(serves="field", layout=piping))
    oil_pump = plant.add("oil_pump", Mover())
    charger = plant.add("charger", Exchanger(cold_outlet="382 degC", approach="10 K"))
    salt_pump = plant.add("salt_pump", Mover())
    tanks = plant.add("tanks", TwoTanks())
    hot_pump = plant.add("hot_pump", Mover())
    boiler = plant.add("boiler", ReheatSteamGenerator(steam_temperature="371 degC", pinch="6 K"))
    turbine = plant.add("turbine", ReheatSteamTurbine(pressure="60 bar", heaters=3, reheat_ratio=0.3))

    oil.through(field, hot_header, charger.hot, oil_pump, cold_header, field)
    salt.through(tanks.charge, salt_pump, charger.cold, tanks.charge)
    salt.through(tanks.discharge, hot_pump, boiler.hot, tanks.discharge)
    steam.through(boiler.water, turbine.main, boiler.water)
    steam.through(boiler.reheat, turbine.reheat, boiler.reheat)
    return plant
