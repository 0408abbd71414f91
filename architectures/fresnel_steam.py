"""Water boils in the rows of linear mirrors and its steam goes straight to the turbine; nothing is stored.

Strips of household mirror glass at Tamarisk Basin (invented) make steam of 380 degC at 60 bar while the sun shines.
"""

from components.catalogue import collector
from components.field import CollectorField
from components.pipe import HeaderPipe
from components.receiver_steam import BoilingRow
from components.receiver_tube import EvacuatedTube
from components.row import Row
from components.steam_turbine import SteamTurbine
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("fresnel_steam", title="Linear mirrors with direct steam, no store",
                  design=Design(solar_multiple=1.3))
    steam = plant.loop("steam", "water", pressure="60 bar")

    tube = EvacuatedTube(aperture_width="12 m")
    field = plant.add("field", CollectorField(
        collector=collector("light_fresnel"), receiver=BoilingRow(tube=tube, pressure="65 bar"), outlet="380 degC",
        inlet_guess="210 degC", receiver_price="receiver.evacuated_tube", freeze_by="trace heating",
        freeze_margin="5 K", row=Row(aperture="9600 m^2", length="800 m", diameter="66 mm", fittings=30.0)))
    steam_header = plant.add("steam_header", HeaderPipe(serves="field"))
    water_header = plant.add("water_header", HeaderPipe(serves="field"))
    turbine = plant.add("turbine", SteamTurbine(pressure="60 bar", heaters=4, condenser_approach="18 K"))

    steam.through(field, steam_header, turbine, water_header, field)
    return plant
