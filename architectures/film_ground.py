"""Film troughs heat water in summer, boreholes keep its heat in the ground, growers' houses are warmed in winter.

The growers' cooperative of Tamarisk Basin (invented) takes heat at low temperature: 45 degC to the pipes of its
greenhouses on the coldest night, and a little all year for its wash house.
"""

from components.catalogue import collector
from components.field import CollectorField
from components.field_piping import FieldPiping
from components.ground import Boreholes
from components.heat_users import DistrictHeat
from components.mover import Mover
from components.pipe import HeaderPipe
from components.receiver_tube import EvacuatedTube
from loopnet.plant import Design, Plant


def build() -> Plant:
    """The plant, drawn; nothing is computed yet."""
    plant = Plant("film_ground", title="Summer heat in boreholes for winter greenhouses",
                  design=Design(net_power=None, solar_multiple=0.54, store_hours="650 hour"))
    water = plant.loop("water", "hot water", pressure="5 bar")

    piping = FieldPiping(device="300 m^2", tube="100 m", spacing="103 m", row_spacing="9 m", branches=4)
    field = plant.add("field", CollectorField(
        collector=collector("film_trough"), receiver=EvacuatedTube(aperture_width="3 m"), outlet="90 degC",
        inlet_guess="45 degC", receiver_price="receiver.evacuated_tube", row=piping.row()))
    hot_header, cold_header = (plant.add(name, HeaderPipe(serves="field", layout=piping))
                               for name in ("hot_header", "cold_header"))
    pump = plant.add("pump", Mover())
    ground = plant.add("ground", Boreholes(most="95 degC", undisturbed="18.6 degC", spacing="2 m", years=6,
                                           hot_fall="37 K", drift_hot="40 K", cold_rise="28 K", drift_cold="32 K"))
    user_pump = plant.add("user_pump", Mover())
    houses = plant.add("houses", DistrictHeat(demand="4 MW", supply="45 degC", mild="40 degC", returns="30 degC",
                                              coldest="-3 degC", taps=0.05, drop="0.5 bar"))

    water.through(ground.charge, pump, cold_header, field, hot_header, ground.charge)
    water.through(ground.discharge, user_pump, houses, ground.discharge)
    return plant
