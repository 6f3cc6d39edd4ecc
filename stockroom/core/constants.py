"""Constants of the trade, each with its value, unit, source and how sure we are."""

from dataclasses import dataclass
from typing import Literal

Sure = Literal["published", "secondary", "estimate", "common practice", "our choice"]


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant: a number that a person may ask about."""

    value: float
    unit: str
    source: str
    sure: Sure

    def __float__(self) -> float:
        return float(self.value)


GAS_CONSTANT = Constant(8.314462618, "J/(mol K)", "SI, exact since 2019 (CODATA 2018)", "published")
ZERO_CELSIUS = Constant(273.15, "K", "SI definition of the Celsius scale", "published")

ACTIVATION_ENERGY = Constant(
    85_000,
    "J/mol",
    "centre of 60 to 120 kJ/mol; no published figure for unexposed colour paper was found; "
    "83.144 kJ/mol is the default of USP <1160> for mean kinetic temperature",
    "estimate",
)
ACTIVATION_ENERGY_LOW = Constant(60_000, "J/mol", "lower end of the interval carried", "estimate")
ACTIVATION_ENERGY_HIGH = Constant(120_000, "J/mol", "upper end of the interval carried", "estimate")
MKT_ENERGY = Constant(83_144, "J/mol", "USP <1160>, USP 29 text", "secondary")
FLOOR_RATE = Constant(
    0.05,
    "days of life a day",
    "cold does not stop the clock: makers say that ageing can only be slowed and that natural "
    "radiation fogs frozen stock too; no figure is published",
    "estimate",
)
SENSOR_SPREAD = Constant(0.5, "K", "usual accuracy of a store logger near 4 °C", "common practice")
ROOM_TEMP = Constant(21.0, "°C", "usual workroom; second reading of an unknown label", "our choice")

GAP_STEPS = Constant(2.5, "median steps", "a longer step is a gap", "our choice")
GAP_LEAST = Constant(1_800, "s", "no step up to half an hour is a gap", "our choice")
LOG_STEP_ENOUGH = Constant(
    900,
    "s",
    "two hours at 21 °C out of 4 °C, body lagging by 30 min, 120 kJ/mol: the trapezoid on such "
    "steps is within 1 % of that day's ageing (our test)",
    "our choice",
)
LOG_STEP_COARSE = Constant(
    1_800,
    "s",
    "on the same day steps of 60 min are up to 10 % off, of 30 min up to 3.5 % (our test)",
    "our choice",
)
BRIDGE_LONGEST = Constant(7_200, "s", "gaps up to 2 h, ends within 2 K, are bridged", "our choice")
BRIDGE_DIFFERENCE = Constant(2.0, "K", "see BRIDGE_LONGEST", "our choice")
REWARM_TEMP = Constant(28.0, "°C", "a warm room in summer, the end of a power cut", "our choice")
REWARM_TIME = Constant(36_000, "s", "time constant of a loaded cold store without power", "estimate")
REWARM_LONGEST = Constant(
    259_200, "s", "three days, a long weekend: nobody misses a warm store for longer", "our choice"
)

ROLL_CONDUCTIVITY = Constant(0.14, "W/(m K)", "paper across its layers", "estimate")
ROLL_HEAT_CAPACITY = Constant(1.54e6, "J/(m3 K)", "paper, density times specific heat", "secondary")
SURFACE_COEFFICIENT = Constant(5.0, "W/(m2 K)", "still air, radiation and carton; 3 to 8", "estimate")
CORE_OUTER_DIAMETER = Constant(89.0, "mm", "3 inch core tube with its wall", "common practice")
PAPER_CALIPER = Constant(0.24, "mm", "resin-coated colour paper", "estimate")
SHEET_PACKAGE_TIME = Constant(3_600, "s", "time constant of a box or pack of sheets", "estimate")

STRIP_HOLDS = Constant(14, "days", "how long a strip judged by eye counts", "our choice")
WARM_SPELL_WORTH_A_WORD = Constant(1.0, "days of life", "less than a day is only listed", "our choice")
SHOP_RULE_LIFE = Constant(
    365,
    "days",
    "paper without any date: a year from the day it came, at the label's condition",
    "common practice",
)

SEASON_LOGGED = Constant(
    0.8, "share", "each month of a year, before the year stands for those to come", "our choice"
)

ROLL_LEADER = Constant(0.30, "m", "thrown away at each loading of a roll", "common practice")
ROLL_TAIL = Constant(0.50, "m", "left on the core, not printable", "common practice")
PRINT_GAP = Constant(0.05, "m", "between two prints and for trimming", "common practice")
PRINT_MARGIN = Constant(5.0, "mm", "each edge of the roll that cannot be printed", "common practice")

MOUNT_PRIOR_GOOD = Constant(9.0, "pieces", "about one in ten is lost at mounting", "common practice")
MOUNT_PRIOR_LOST = Constant(1.0, "pieces", "about one in ten is lost at mounting", "common practice")
PRINT_PRIOR_SHAPE = Constant(2.0, "defects", "weak prior of printing losses", "our choice")
PRINT_PRIOR_AREA = Constant(15.0, "m2", "weak prior: 0.13 losses a square metre", "our choice")
ASSURANCE = Constant(0.90, "probability", "asked that the length holds the remakes too", "our choice")

ACRYLIC_DENSITY = Constant(1.19, "g/cm3", "ISO 1183 value on makers' data sheets", "published")
SHEET_THICKNESS_SLACK = (
    Constant(0.4, "mm", "ISO 7823-1: 0.4 mm + 0.1 t for cast sheet", "published"),
    Constant(0.1, "mm a mm", "ISO 7823-1: 0.4 mm + 0.1 t for cast sheet", "published"),
)
LIFT_LOAD_CONSTANT = Constant(23.0, "kg", "NIOSH revised lifting equation, ideal lift", "secondary")
WARM_ARRIVAL_TEMP = Constant(30.0, "°C", "a parcel in a van or hall in summer", "estimate")
WARM_ARRIVAL_LIKELY = Constant(86_400, "s", "a day of it", "our choice")
WARM_ARRIVAL_LONGEST = Constant(259_200, "s", "three days of it, a weekend in a depot", "our choice")
HORIZON = Constant(7_305, "days", "20 years: nothing is projected further", "our choice")
OUT_BEFORE = Constant(1, "days", "a cold roll goes out the day before it is printed", "common practice")
COLD_BELOW = Constant(15.0, "°C", "a place set below this counts as cold", "our choice")
SHORT_DATED = Constant(60, "days", "nearly off: fewer days than this to its usable-by", "our choice")

DOOR_RISE = Constant(2.5, "K", "above the hour before; a compressor swings by 2 K", "our choice")
DOOR_BEFORE = Constant(3_600, "s", "the hour before tells what it was: its median", "our choice")
DOOR_UNREST = Constant(5.0, "median deviations", "what stands out of a restless hour", "our choice")
DOOR_QUICK = Constant(900, "s", "up within a quarter of an hour", "our choice")
DOOR_LONGEST = Constant(1_800, "s", "back within half an hour", "our choice")
DOOR_COARSEST = Constant(1_000, "s", "a quarter of an hour and a little: more misses it", "our choice")
WORST_LOGGED = Constant(0.5, "share", "so much of a worst stretch must be logged", "our choice")

COVERAGE = Constant(0.90, "probability", "that the true length lies within ± of it", "our choice")
WOUND_SCATTER = Constant(
    0.01,
    "share of the caliper",
    "how far rolls of one material differ as wound, until several have been calibrated",
    "estimate",
)

ACRYLIC_EXPANSION_LOW = Constant(6e-5, "per K", "acrylic maker's installation note", "secondary")
ACRYLIC_EXPANSION = Constant(7e-5, "per K", "the middle of the range, as for cast sheet", "secondary")
ACRYLIC_EXPANSION_HIGH = Constant(8e-5, "per K", "acrylic maker's installation note", "secondary")
ACRYLIC_MOISTURE = {
    0: Constant(0.0, "mm a metre", "bone dry, where the growth is counted from", "our choice"),
    60: Constant(2.0, "mm a metre", "technical data of extruded acrylic sheet", "secondary"),
    80: Constant(3.0, "mm a metre", "technical data of extruded acrylic sheet", "secondary"),
    100: Constant(6.0, "mm a metre", "technical data of extruded acrylic sheet", "secondary"),
}
MOISTURE_DAYS = (
    Constant(15, "days", "most of the movement, 10 to 30 points of humidity; maker", "published"),
    Constant(30, "days", "most of the movement, 10 to 30 points of humidity; maker", "published"),
)
MOISTURE_LONGEST = Constant(70, "days", "more than 60 points of humidity; maker", "published")
COMPOSITE_EXPANSION = Constant(
    2.4e-5,
    "per K",
    "2.4 mm a metre at 100 K: makers' figure, from memory; agrees with a supplier's data page",
    "secondary",
)
SETTLE_DIFFERENCE = Constant(5.0, "K", "a smaller step needs no settling", "our choice")
SETTLE_MOISTURE = Constant(1.0, "mm a metre", "less moisture growth needs no settling", "our choice")
SETTLE_DAYS = Constant(2, "days", "for the temperature; moisture takes weeks", "common practice")
MOVEMENT_SIDE = Constant(1.0, "m", "from this side on its movement is worth a word", "our choice")

FILM_TRIM_AFTER = Constant(24.0, "h", "no trimming of a mounted piece before", "common practice")

MASKING_AGE = Constant(
    365, "days", "adhesive of the masking sets with age and light; the limit is ours", "our choice"
)

WHITE_WATCH_B = Constant(
    0.7,
    "b*",
    "half of the act limit; about 0.3 is seen between near-white papers (Technidyne 2013, "
    "secondary)",
    "our choice",
)
WHITE_ACT_B = Constant(
    1.5,
    "b*",
    "well above the 0.3 seen between near-white papers (Technidyne 2013, secondary), below the "
    "general just noticeable difference of 2.3 (Mahy et al. 1994)",
    "our choice",
)
WHITE_WATCH_DENSITY = Constant(0.01, "blue density", "half of the act limit", "our choice")
WHITE_ACT_DENSITY = Constant(
    0.02, "blue density", "D-min limit of a Process RA-4 control strip, +0.02", "secondary"
)
WHITE_SPOT_SD_B = Constant(0.1, "b*", "sd of one spot on one processed patch", "estimate")
WHITE_STRIP_SD_B = Constant(
    0.03, "b*", "from strip to strip; averaged spots do not lessen it", "estimate"
)
WHITE_SPOT_SD_DENSITY = Constant(0.004, "blue density", "as WHITE_SPOT_SD_B", "estimate")
WHITE_STRIP_SD_DENSITY = Constant(0.001, "blue density", "as WHITE_STRIP_SD_B", "our choice")
WHITE_TAIL_DEGREES = Constant(
    4, "degrees of freedom", "Student's t: a false reading pulls little", "our choice"
)
WHITE_TAIL_SCALE = Constant(
    0.83,
    "sd",
    "the t of 4 degrees nearest to normal noise of that sd, by integration",
    "our choice",
)
WHITE_SUSPECT = Constant(0.5, "weight", "below it a reading is judged by the others", "our choice")
WHITE_OUTLIER = Constant(
    0.2, "weight", "3.3 sd from what the others tell: 1 in 1,100 of true readings", "our choice"
)
WHITE_SCATTER = (0.6, 1.0, 1.7, 2.8)
"""A workshop's readings may scatter so many times as stated; the readings tell (our choice)."""
WHITE_SCATTER_SD = Constant(0.8, "ln times", "how far workshops differ in that", "our choice")
WHITE_EXPONENT = Constant(1.2, "1", "yellowing starts slowly and gathers pace", "estimate")
WHITE_EXPONENT_SD = Constant(
    0.36,
    "1",
    "spread of WHITE_EXPONENT; with 0.25 the 90 % range of life held as little as 68 % of rolls "
    "whose exponent is 1.8 (our simulation)",
    "estimate",
)
WHITE_DOUBT = Constant(
    0.01,
    "ln life",
    "what no reading lessens: a slow drift that patch and control do not share",
    "estimate",
)
WHITE_START_SHARE = Constant(
    1 / 3, "of the act limit", "sd of a roll's white about its emulsion's first patch", "estimate"
)
WHITE_LIFE_SD_MATERIAL = Constant(
    0.2, "ln life", "materials about their label; with the next two 0.35 in all", "estimate"
)
WHITE_LIFE_SD_EMULSION = Constant(0.2, "ln life", "emulsions of one material", "estimate")
WHITE_LIFE_SD_ROLL = Constant(0.2, "ln life", "rolls of one emulsion", "estimate")

DEW_MARGIN = Constant(
    2.8, "K", "coating practice: a surface is kept 5 °F above the dew point of the air", "secondary"
)
READY_WITHIN = Constant(
    2.0, "K", "the core so near the room counts as at room temperature", "our choice"
)
STACKED_TIME = Constant(
    1.5,
    "times",
    "15 h alone and 23 h stacked, from 5 to 20 °C: half as much again (a paper supplier's page)",
    "secondary",
)
WARM_UP_COEFFICIENT = Constant(
    3.0,
    "W/(m2 K)",
    "slow end of 3 to 8 (still air, radiation, carton); a film maker's rule of 330 h to nine "
    "tenths for each metre of volume over surface comes to 3.0 with our heat capacity",
    "estimate",
)
COEFFICIENT_LEAST = Constant(1.0, "W/(m2 K)", "wrapped in blankets: no package is slower", "our choice")
COEFFICIENT_MOST = Constant(30.0, "W/(m2 K)", "in front of a fan: no package is faster", "our choice")
ROLL_CONDUCTIVITY_ALONG = Constant(0.30, "W/(m K)", "paper along its layers", "estimate")
CORE_WALL = Constant(6.4, "mm", "3 inch tube, 76.2 mm inside and 89 mm outside", "common practice")
PROBE_RISE = Constant(
    5.0, "K", "a probe run that rises less cannot tell how fast it rose", "our choice"
)
PROBE_READINGS = Constant(8, "readings", "fewer make no curve", "our choice")
BAG_WATER_SMALL = Constant(
    0.01,
    "g/l",
    "five litres of air shut in with a roll then give one drop (0.05 g) at most, and the paper "
    "itself holds about a twentieth of its weight of water",
    "our choice",
)

HUMIDITY_LIMIT = Constant(
    60.0,
    "% RH",
    "60 % or more for long periods is harmful (US Navy, Photography (Basic); a paper maker's "
    "pamphlet of 1980)",
    "secondary",
)
WORK_BEGINS = Constant(9.0, "h", "the hour at which a print of the day is begun", "our choice")
WORK_ENDS = Constant(17.0, "h", "the hour by which rolls are taken out or put back", "our choice")
HUMIDITY_EXPONENTS = (
    Constant(1.0, "1", "the rate in proportion to humidity: a plain assumption", "our choice"),
    Constant(2.7, "1", "moulded electronics (Hallberg and Peck 1991), from memory", "secondary"),
)
"""Only for a line that shows what if: humidity never enters a paper's age."""

READING_COUNTS = Constant(
    86_400, "s", "a place's last reading counts as now for a day; then its set-point", "our choice"
)
MOVEMENT_RISE = Constant(10.0, "K", "between a cool store and a warm wall, to show it", "our choice")
MOVEMENT_HUMIDITY = (
    Constant(40.0, "% RH", "a heated room in winter, to show it", "our choice"),
    Constant(60.0, "% RH", "a humid week, to show it", "our choice"),
)

WHITE_TELLS = Constant(
    0.15,
    "share",
    "narrower than before by this much, the white stands beside the label",
    "our choice",
)
WHITE_REACH = Constant(
    1.5,
    "times the age at the last patch",
    "a word on a white carries no farther; a curve is not trusted far beyond what was measured",
    "our choice",
)
WHITE_RECENT = Constant(60, "days", "an older patch no longer speaks for a print", "our choice")

ROOM_HUMIDITY = Constant(
    60.0, "% RH", "a room whose humidity nobody logged is taken to be damp", "our choice"
)
COLD_UNKNOWN = Constant(
    -18.0, "°C", "a cold place nobody logged or set is taken for a freezer", "our choice"
)
COLD_COUNTS = Constant(
    900, "s", "a shorter stay in the cold does not cool a roll in its carton", "our choice"
)
COLD_LINGERS = Constant(
    172_800, "s", "so long after a colder place a roll may still be as cold as that", "our choice"
)
CALIPER_UNSURE = Constant(
    0.03,
    "share of the caliper",
    "a label's thickness is that of one layer; wound, air lies between the wraps",
    "estimate",
)
CORE_UNSURE = Constant(
    1.0,
    "mm",
    "standard deviation of a core nobody measured, alike in all rolls of a material: 3 inch tubes "
    "differ in wall",
    "estimate",
)
DAMP_WORTH_A_WORD = Constant(24.0, "h", "above the humidity limit, opened", "our choice")

BACK_PRIOR_LOST = Constant(
    0.01, "share", "one backing in a hundred is lost; no count is known, unsure", "our choice"
)
BACK_PRIOR_PIECES = Constant(10.0, "pieces", "what that is worth until some are counted", "our choice")
SIZE_CLASSES = (
    Constant(0.5, "m2", "a piece up to this is small", "our choice"),
    Constant(1.5, "m2", "a piece up to this is medium, above it large", "our choice"),
)
SIZE_CLASS_PIECES = Constant(
    10.0, "pieces", "what all sizes together are worth to one class of size", "our choice"
)
TRIES_KEPT_A_WEEK = Constant(
    0.98, "share", "a try counts for so much less each week: half after 34", "our choice"
)
MOUNT_LOSS_SHARES = {"film spoiled": 0.2, "bad sheet": 0.1, "": 0.7}
"""Shares among lost mounts by cause, until some are counted (our choice, unsure; sum 1)."""
LOSS_SHARES_WORTH = Constant(
    10.0, "losses", "what these shares are worth until some are counted", "our choice"
)

DAMAGE_NOTICE = Constant(
    7.0,
    "days",
    "damage that does not show: CMR convention, article 30, from memory; the contract decides",
    "secondary",
)
