"""Air in the rows, crushed rock in a bed, steam to the turbine.

Small two-axis mirrors of Tamarisk Basin (invented) heat air in cavity receivers to 580 degC; fans carry it through
ducts to a bed of rock, and back through the boiler.
"""

from components.catalogue import collector
from components.field import CollectorField
from components.mover import Mover
from components.packed_bed import PackedBed
from components.pipe import HeaderPipe
from components.piping import Insulation
from components.receiver import CavityLoss
from components.row import Row
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("air_rock", title="Air loop with a rock bed",
                  design=Design(solar_multiple=3.0, store_hours="20 hour"))
    air = plant.loop("air", "air", pressure="0.89 bar")
    steam = plant.loop("steam", "water", pressure="100 bar")

    field = plant.add("field", CollectorField(
        collector=collector("light_dish"), receiver=CavityLoss(concentration=400.0), outlet="580 degC",
        inlet_guess="180 degC", receiver_price="receiver.air_cavity",
        row=Row(aperture="400 m^2", length="60 m", diameter="360 mm", fittings=20.0,
                insulation=Insulation(thickness="0.15 m"))))
    hot_duct = plant.add("hot_duct", HeaderPipe(serves="field", parallel=6,
                                                insulation=Insulation(thickness="0.3 m")))
    cold_duct = plant.add("cold_duct", HeaderPipe(serves="field", parallel=6))
    fan = plant.add("fan", Mover(efficiency=0.8))
    bed = plant.add("bed", PackedBed(pressure="0.89 bar", height="4 m"))
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="540 degC", pinch="15 K", u=40.0, drop_hot="1.5 kPa",
                                                hot_outlet_guess="180 degC", price="exchanger.air_steam"))
    boiler_fan = plant.add("boiler_fan", Mover(efficiency=0.8))
    turbine = plant.add("turbine", SteamTurbine(pressure="100 bar", heaters=2))

    air.through(bed.charge, cold_duct, fan, field, hot_duct, bed.charge)
    air.through(bed.discharge, boiler.hot, boiler_fan, bed.discharge)
    steam.through(boiler.water, turbine, boiler.water)
    return plant
