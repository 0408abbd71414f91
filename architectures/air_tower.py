"""An open receiver on a tower sucks in air, a bed of rock keeps its heat, steam to the turbine.

Light heliostats of Tamarisk Basin (invented) heat a porous front; of the air that comes back warm, most is drawn in
again.
"""

from components.catalogue import collector, receiver
from components.field import CollectorField
from components.heliostats import HeliostatField
from components.mover import Mover
from components.packed_bed import PackedBed
from components.pipe import HeaderPipe
from components.piping import CalciumSilicate
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("air_tower", title="Open air tower with a rock bed",
                  design=Design(solar_multiple=3.0, store_hours="18 hour"))
    air = plant.loop("air", "air", pressure="0.89 bar")
    steam = plant.loop("steam", "water", pressure="100 bar")

    field = plant.add("field", CollectorField(
        collector=collector("light_heliostat", tracking=HeliostatField(tower_height="145 m")),
        receiver=receiver("open_air", return_ratio=0.7), outlet="650 degC",
        inlet_guess="200 degC", drop="1 kPa",
        receiver_price="receiver.tower", tower="150 m"))
    hot_duct = plant.add("hot_duct", HeaderPipe(runner="200 m", parallel=4,
                                                insulation=CalciumSilicate(thickness="0.3 m")))
    cold_duct = plant.add("cold_duct", HeaderPipe(runner="200 m", parallel=4))
    fan = plant.add("fan", Mover(efficiency=0.8))
    bed = plant.add("bed", PackedBed(pressure="0.89 bar", height="5 m"))
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="540 degC", pinch="15 K", subcooling="15 K", u=40.0,
                                                drop_hot="1.5 kPa", hot_outlet_guess="180 degC",
                                                price="exchanger.air_steam"))
    boiler_fan = plant.add("boiler_fan", Mover(efficiency=0.8))
    turbine = plant.add("turbine", SteamTurbine(pressure="100 bar", heaters=2))

    air.through(bed.charge, cold_duct, fan, field, hot_duct, bed.charge)
    air.through(bed.discharge, boiler.hot, boiler_fan, bed.discharge)
    steam.through(boiler.water, turbine, boiler.water)
    return plant
