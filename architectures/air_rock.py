"""Air in ducts, crushed rock in a bed, steam to the turbine.

Small heliostats of Tamarisk Basin (invented) around masts of 25 m heat air in cavity receivers to 580 degC; fans carry
it through ducts to a bed of rock, and back through the boiler.
"""

from components.catalogue import collector, receiver
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.heliostat_beam import Mirror
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
    plant = Plant("air_rock", title="Air from masts to a rock bed",
                  design=Design(solar_multiple=3.0, store_hours="20 hour"))
    air = plant.loop("air", "air", pressure="0.89 bar")
    steam = plant.loop("steam", "water", pressure="100 bar")

    mast = HeliostatField(tower_height="25 m", mirror=Mirror(width="2 m", height="1.5 m"))
    ducts = FieldPiping(device="10000 m^2", in_series=1, spacing="150 m", row_spacing="300 m", riser="50 m", turn=False,
                        joints=0, elbows=6, diameter="1.6 m", branches=12, trunk=False, runner="150 m",
                        insulation=CalciumSilicate(thickness="0.3 m"))
    field = plant.add("field", CollectorField(
        collector=collector("light_heliostat", tracking=mast), receiver=receiver("cavity"),
        outlet="580 degC", inlet_guess="180 degC", receiver_price="receiver.air_cavity",
        prices=("site.improvement", "collector.mast"), row=ducts.row()))
    hot_duct = plant.add("hot_duct", HeaderPipe(serves="field", layout=ducts,
                                                insulation=CalciumSilicate(thickness="0.3 m")))
    cold_duct = plant.add("cold_duct", HeaderPipe(serves="field", layout=ducts))
    fan = plant.add("fan", Mover(efficiency=0.8))
    bed = plant.add("bed", PackedBed(pressure="0.89 bar", height="4 m", drift_hot="110 K"))
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="540 degC", pinch="15 K", subcooling="15 K", u=40.0,
                                                drop_hot="1.5 kPa", hot_outlet_guess="180 degC",
                                                price="exchanger.air_steam"))
    boiler_fan = plant.add("boiler_fan", Mover(efficiency=0.8))
    turbine = plant.add("turbine", SteamTurbine(pressure="100 bar", heaters=2))

    air.through(bed.charge, cold_duct, fan, field, hot_duct, bed.charge)
    air.through(bed.discharge, boiler.hot, boiler_fan, bed.discharge)
    steam.through(boiler.water, turbine, boiler.water)
    return plant
