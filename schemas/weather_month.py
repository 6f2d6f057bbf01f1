"""Weather by month: the means and sums a station publishes for one month of one year."""

from schemas.field import Field
from schemas.kind import Kind
from schemas.shared import COMMENTS, OF_STATION

# Limits are physical and wide, as in weather_day; a month's sums are at most a month of the day's. The wettest month
# ever accepted had 9300 mm (WMO Archive of Weather and Climate Extremes; from memory).
WEATHER_MONTH = Kind(
    name="weather_month",
    title="weather by month",
    grain="one month at one station",
    order=("station", "date"),
    period="month",
    attached=False,
    told_by_headers=False,  # a sheet of days has the same headers
    fields=(
        Field("date", "date", "First day of the month the figures are for.", required=True, key=True,
              month=True, also=("first of month",), example="2026-03-01"),
        OF_STATION,
        Field("tmax_c", "number", "Mean of the daily highest air temperatures.", unit="°C", low=-100, high=70, nines="refused",
              also=("tmax", "mean max temp", "mean maximum temperature", "maxtp", "mean max temperature"), example="10.3"),
        Field("tmin_c", "number", "Mean of the daily lowest air temperatures.", unit="°C", low=-100, high=70, nines="refused",
              also=("tmin", "mean min temp", "mean minimum temperature", "mintp", "mean min temperature"), example="2.9"),
        Field("tmean_c", "number", "Mean air temperature.", unit="°C", low=-100, high=70, nines="refused",
              also=("tmean", "mean temp", "mean air temperature", "mean temperature", "tavg", "average temperature",
                    "mean average temperature"), example="6.6"),
        Field("dew_point_c", "number", "Mean dew point.", unit="°C", low=-100, high=50, nines="refused", also=("mean dew point",),
              example="3.9"),
        Field("humidity_pct", "number", "Mean relative humidity.", unit="%", low=0, high=100, nines="refused",
              also=("humidity", "relative humidity", "rh"), example="81"),
        Field("soil_30cm_c", "number", "Mean soil temperature, 30 cm deep.", unit="°C", low=-60, high=70, nines="refused",
              also=("mean soil temperature",), example="6.5"),
        Field("frost_days", "number", "Days with air frost.", low=0, high=31, nines="refused", also=("air frost days", "air frost", "days of air frost", "af"), example="4"),
        Field("ground_frost_days", "number", "Days with ground frost.", low=0, high=31, nines="refused", also=("ground frosts", "total monthly ground frosts"),
              example="9"),
        Field("rain_mm", "number", "Rain of the month, melted snow included.", unit="mm", low=0, high=20000, nines="asked",
              trace=True,
              also=("rain", "rainfall", "total rain", "total rainfall", "total monthly rainfall", "precipitation", "prcp",
                    "precip"), example="47.1"),
        Field("rain_days", "number", "Days with rain.", low=0, high=31, nines="refused", also=("days of rain", "total monthly rain days"), example="14"),
        Field("sun_h", "number", "Bright sunshine of the month.", unit="h", low=0, high=744, nines="asked",
              also=("sun", "sunshine", "total sunshine", "sunshine hours", "sun hours"), example="128.4"),
        Field("radiation_mj_m2", "number", "Mean solar radiation of a day.", unit="MJ/m²", low=0, high=50, nines="asked",
              also=("mean solar radiation", "mean daily radiation", "glorad", "srad"), example="8.6"),
        Field("wind_m_s", "number", "Mean wind speed.", unit="m/s", low=0, high=120, nines="refused", also=("mean wind speed", "awnd", "wdsp"),
              example="2.8"),
        Field("evaporation_mm", "number", "Evaporation of the month from open water.", unit="mm", low=-100, high=2000, nines="asked",
              also=("open water evaporation", "total monthly open water evaporation"), example="35"),
        Field("marks", "text", "Marks glued to the figures in the source, by field (an estimated one, another sensor).",
              example="sun_h *"),
        COMMENTS,
    ),
)  # fmt: skip
