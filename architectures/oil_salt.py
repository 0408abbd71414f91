"""Oil in the rows, nitrate salt in two tanks, steam to the turbine.

Light troughs of Tamarisk Basin (invented) heat oil to 392 degC; the oil hands its heat to salt, and the salt makes
and reheats steam day and night.
"""

from components.catalogue import collector, receiver
from components.exchanger import Exchanger
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.inventory import TwoTanks
from components.mover import Mover
from components.pipe import HeaderPipe
from components.reheat import ReheatSteamGenerator, ReheatSteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("oil_salt", title="Oil loop with salt tanks",
                  design=Design(solar_multiple=3.0, store_hours="16 hour"))
    oil = plant.loop("oil", "diphenyl oil", pressure="14 bar")
    salt = plant.loop("salt", "nitrate salt")
    steam = plant.loop("steam", "water", pressure="60 bar")

    piping = FieldPiping(device="650 m^2", tube="113 m", spacing="116 m", row_spacing="17.3 m", branches=4)
    field = plant.add("field", CollectorField(
        collector=collector("light_trough"), receiver=receiver("evacuated_tube"), outlet="392 degC",
        inlet_guess="295 degC", receiver_price="receiver.evacuated_tube",
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
