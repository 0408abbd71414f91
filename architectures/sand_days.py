"""Sand falls through the sunlight and waits for days: three dark ones, and the turbine runs on.

The plant of falling sand at Tamarisk Basin (invented) with more mirrors, and silos for three days instead of a night.
"""

from components.catalogue import collector, receiver
from components.field import CollectorField
from components.heliostats import HeliostatField
from components.inventory import Silos
from components.mover import Mover
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("sand_days", title="Falling sand, three days in silos",
                  design=Design(solar_multiple=3.7, store_hours="72 hour"))
    sand = plant.loop("sand", "quartz sand")
    steam = plant.loop("steam", "water", pressure="100 bar")

    field = plant.add("field", CollectorField(
        collector=collector("light_heliostat", tracking=HeliostatField(tower_height="140 m")),
        receiver=receiver("particle_curtain"), outlet="600 degC", inlet_guess="290 degC",
        receiver_price="receiver.particle", tower="130 m"))
    lift = plant.add("lift", Mover(height="140 m"))
    silos = plant.add("silos", Silos(drift_hot="34 K"))
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="540 degC", pinch="20 K", u=120.0, drop_hot="0 Pa",
                                                hot_outlet_guess="290 degC", price="exchanger.particle_steam"))
    return_lift = plant.add("return_lift", Mover(height="25 m"))
    turbine = plant.add("turbine", SteamTurbine(pressure="100 bar", heaters=5))

    sand.through(silos.charge, lift, field, silos.charge)
    sand.through(silos.discharge, boiler.hot, return_lift, silos.discharge)
    steam.through(boiler.water, turbine, boiler.water)
    return plant
