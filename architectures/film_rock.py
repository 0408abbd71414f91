"""Inflated film troughs heat oil, the oil heats air, the air heats a bed of rock, steam to the turbine.

The cheapest mirrors and the cheapest store of Tamarisk Basin (invented), with two exchangers between them.
"""

from components.catalogue import collector
from components.exchanger import Exchanger
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.mover import Mover
from components.packed_bed import PackedBed
from components.pipe import HeaderPipe
from components.receiver_tube import EvacuatedTube
from components.steam_generator import SteamGenerator
from components.steam_turbine import SteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("film_rock", title="Film troughs, oil, and a rock bed",
                  design=Design(solar_multiple=3.0, store_hours="20 hour"))
    oil = plant.loop("oil", "diphenyl oil", pressure="12 bar")
    air = plant.loop("air", "air", pressure="0.89 bar")
    steam = plant.loop("steam", "water", pressure="25 bar")

    piping = FieldPiping(device="300 m^2", tube="100 m", spacing="103 m", row_spacing="9 m", branches=4)
    field = plant.add("field", CollectorField(
        collector=collector("film_trough"), receiver=EvacuatedTube(aperture_width="3 m"), outlet="380 degC",
        inlet_guess="200 degC", receiver_price="receiver.evacuated_tube",
        row=piping.row()))
    hot_header, cold_header = (plant.add(name, HeaderPipe(serves="field", layout=piping))
                               for name in ("hot_header", "cold_header"))
    oil_pump = plant.add("oil_pump", Mover())
    charger = plant.add("charger", Exchanger(cold_outlet="365 degC", approach="15 K", u=40.0, drop_cold="1 kPa",
                                             price="exchanger.air_steam"))
    fan = plant.add("fan", Mover(efficiency=0.8))
    bed = plant.add("bed", PackedBed(pressure="0.89 bar", height="4 m", hot_fall="25 K", drift_hot="40 K",
                                        cold_rise="30 K"))
    boiler = plant.add("boiler", SteamGenerator(steam_temperature="345 degC", pinch="12 K", subcooling="15 K", u=40.0,
                                                drop_hot="1.5 kPa", hot_outlet_guess="170 degC",
                                                price="exchanger.air_steam"))
    boiler_fan = plant.add("boiler_fan", Mover(efficiency=0.8))
    turbine = plant.add("turbine", SteamTurbine(pressure="25 bar", heaters=1))

    oil.through(field, hot_header, charger.hot, oil_pump, cold_header, field)
    air.through(bed.charge, fan, charger.cold, bed.charge)
    air.through(bed.discharge, boiler.hot, boiler_fan, bed.discharge)
    steam.through(boiler.water, turbine, boiler.water)
    return plant
