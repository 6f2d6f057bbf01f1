"""Weather by day: what one station measured on one day."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import COMMENTS, OF_STATION

# Limits are physical and wide: what is merely odd for a place is no fault. The widest figures ever accepted stand in the
# WMO Archive of Weather and Climate Extremes (-89.2 and 56.7 °C, 1825 mm in a day; from memory): each limit is beyond.
WEATHER_DAY = Kind(
    name="weather_day",
    title="weather by day",
    grain="one day at one station",
    order=("station", "date"),
    period="day",
    fields=(
        Field("date", "date", "Day the figures are for.", required=True, key=True, also=("day", "observation date", "yyyymmdd"),
              example="2026-03-16"),
        OF_STATION,
        Field("tmax_c", "number", "Highest air temperature.", unit="°C", low=-100, high=70, nines="refused",
              also=("tmax", "max temp", "maximum temperature", "temp max", "t max", "maxtp", "maxtemp", "max temperature",
                    "txk"), example="9.4"),
        Field("tmin_c", "number", "Lowest air temperature.", unit="°C", low=-100, high=70, nines="refused",
              also=("tmin", "min temp", "minimum temperature", "temp min", "t min", "mintp", "mintemp", "min temperature",
                    "tnk"), example="2.1"),
        Field("tmean_c", "number", "Mean air temperature.", unit="°C", low=-100, high=70, nines="refused",
              also=("tmean", "mean temp", "mean temperature", "temp mean", "t mean", "tavg", "temp avg", "avg temp",
                    "average temperature", "tmk"), example="5.8"),
        Field("dew_point_c", "number", "Mean dew point.", unit="°C", low=-100, high=50, nines="refused", also=("dew point", "dewp", "tdew", "dewpoint"),
              example="1.9"),
        Field("humidity_pct", "number", "Mean relative humidity.", unit="%", low=0, high=100, nines="refused",
              also=("humidity", "relative humidity", "rh", "rh mean", "rhmean", "mean humidity"), example="81"),
        Field("humidity_max_pct", "number", "Highest relative humidity.", unit="%", low=0, high=100, nines="refused",
              also=("max humidity", "rh max", "rhmax"), example=""),
        Field("humidity_min_pct", "number", "Lowest relative humidity.", unit="%", low=0, high=100, nines="refused",
              also=("min humidity", "rh min", "rhmin"), example=""),
        Field("soil_10cm_c", "number", "Soil temperature, 10 cm deep.", unit="°C", low=-60, high=70, nines="refused",
              also=("soil temp", "soil temperature", "soil temp 10cm", "soil 10cm"), example="4.6"),
        Field("rain_mm", "number", "Rain, melted snow included.", unit="mm", low=0, high=2000, nines="refused", trace=True,
              also=("rain", "rainfall", "precipitation", "prcp", "precip"), example="3.2"),
        Field("sun_h", "number", "Bright sunshine.", unit="h", low=0, high=24, nines="asked", also=("sun", "sunshine", "sunshine hours", "sun hours"), example="4.1"),
        Field("radiation_mj_m2", "number", "Solar radiation on the level.", unit="MJ/m²", low=0, high=50, nines="asked",
              also=("radiation", "solar radiation", "glorad", "srad", "global radiation"), example="8.7"),
        Field("wind_m_s", "number", "Mean wind speed.", unit="m/s", low=0, high=120, nines="refused",
              also=("wind", "wind speed", "mean wind speed", "awnd", "wdsp", "wndsp", "wspd", "average wind speed"), example="3.4"),
        Field("wind_height_m", "number", "Height the wind was measured at; 10 m where left blank.", unit="m", above=0,
              high=200, also=("wind height",), example="10"),
        Field("marks", "text", "Marks glued to the figures in the source, by field.", example="sun_h *"),
        COMMENTS,
    ),
)  # fmt: skip
