"""Water boils in the rows of linear mirrors and its steam goes straight to the turbine; nothing is stored.

Strips of household mirror glass at Tamarisk Basin (invented) make steam of 380 degC at 45 bar while the sun shines.
"""

from components.catalogue import collector, receiver
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.pipe import HeaderPipe
from components.steam_turbine import SteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("fresnel_steam", title="Linear mirrors with direct steam, no store",
                  design=Design(solar_multiple=1.3))
    steam = plant.loop("steam", "water", pressure="45 bar")

    piping = FieldPiping(device="2400 m^2", tube="200 m", spacing="205 m", row_spacing="24 m", joints=0, elbows=1)
    field = plant.add("field", CollectorField(
        collector=collector("light_fresnel"), receiver=receiver("boiling_row"), outlet="380 degC",
        inlet_guess="210 degC", receiver_price="receiver.evacuated_tube", freeze_by="trace heating",
        freeze_margin="5 K", row=piping.row()))
    steam_header = plant.add("steam_header", HeaderPipe(serves="field", layout=piping))
    water_header = plant.add("water_header", HeaderPipe(serves="field", layout=piping))
    turbine = plant.add("turbine", SteamTurbine(pressure="45 bar", heaters=4, condenser_approach="18 K"))

    steam.through(field, steam_header, turbine, water_header, field)
    return plant
