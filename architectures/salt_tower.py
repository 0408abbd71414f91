"""Nitrate salt is heated on a tower, waits in two tanks, makes and reheats steam.

Light heliostats of Tamarisk Basin (invented) around one tower heat the salt itself to 565 degC.
"""

from components.catalogue import collector, receiver
from components.field import CollectorField
from components.heliostats import HeliostatField
from components.inventory import TwoTanks
from components.mover import Mover
from components.pipe import HeaderPipe
from components.piping import CalciumSilicate
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("salt_tower", title="Salt tower with two tanks",
                  design=Design(solar_multiple=3.0, store_hours="16 hour"))
    salt = plant.loop("salt", "nitrate salt")
    steam = plant.loop("steam", "water", pressure="110 bar")

    field = plant.add("field", CollectorField(
        collector=collector("light_heliostat", tracking=HeliostatField(tower_height="120 m")),
        receiver=receiver("salt_cylinder", diameter="9 m", tube="40 mm"), outlet="565 degC",
        inlet_guess="290 degC", drop="10 bar", receiver_price="receiver.tower", tower="125 m"))
    riser = plant.add("riser", HeaderPipe(runner="200 m"))
    downcomer = plant.add("downcomer", HeaderPipe(runner="200 m", insulation=CalciumSilicate(thickness="0.2 m")))
    salt_pump = plant.add("salt_pump", Mover(height="125 m"))
    tanks = plant.add("tanks", TwoTanks())
    hot_pump = plant.add("hot_pump", Mover())
    boiler = plant.add("boiler", ReheatSteamGenerator(steam_temperature="540 degC", pinch="8 K"))
    turbine = plant.add("turbine", ReheatSteamTurbine(pressure="110 bar", heaters=5))

    salt.through(tanks.charge, salt_pump, riser, field, downcomer, tanks.charge)
    salt.through(tanks.discharge, hot_pump, boiler.hot, tanks.discharge)
    steam.through(boiler.water, turbine.main, boiler.water)
    steam.through(boiler.reheat, turbine.reheat, boiler.reheat)
    return plant
