"""What shines: weather files, sun position, gaps, a synthetic year."""

from loopnet.site.finer import finer
from loopnet.site.humid import dew_point, relative_humidity, vapour_pressure, wet_bulb
from loopnet.site.place import Site
from loopnet.site.reading import read_weather
from loopnet.site.tamarisk import tamarisk_basin
from loopnet.site.weather import Weather

__all__ = ["Site", "Weather", "dew_point", "finer", "read_weather", "relative_humidity", "tamarisk_basin",
           "vapour_pressure", "wet_bulb"]
