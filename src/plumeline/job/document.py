"""The Job: a versioned document of validated, frozen values in SI units.

Every number's name carries its unit. ``None`` means not known, never zero. ``as_designed`` holds what the
plan decides, ``as_built`` what the crew left behind, ``observations`` what was measured; observations are
only ever added to.
"""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

FORMAT_VERSION: Literal[1] = 1
MOST_BENDS = 6
"""Places that a line may be led through."""

Fraction = Annotated[float, Field(ge=0.0, le=1.0)]


Oxygen = Annotated[float, Field(ge=0.0, le=40.0)]
"""Dissolved oxygen in mg/L; 40 is beyond any bloom."""


class Value(BaseModel):
    """Base of all parts of a job: frozen, with no unknown fields, and no NaN or infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Answer(StrEnum):
    """Yes, no, or unknown: unknown is not no."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Outlet(StrEnum):
    """How water leaves the pond."""

    NONE = "none"
    SPILLWAY = "spillway"
    SURFACE = "surface"
    BOTTOM = "bottom"
    GATE = "gate"
    UNKNOWN = "unknown"


class SiteFacts(Value):
    """Facts of the site that change what may be done; what is not known stays unknown, which is not no."""

    utility_located: Answer = Answer.UNKNOWN
    """The public utility-locate call was made for the trench, and its ticket is in force."""
    utility_ticket: str = ""
    private_lines: Answer = Answer.UNKNOWN
    """Lines that the public call does not mark: the owner's own water, power, gas, irrigation."""
    permits_in_hand: Answer = Answer.UNKNOWN
    earthen_dam: Answer = Answer.UNKNOWN
    outlet: Outlet = Outlet.UNKNOWN
    outflow_now: Answer = Answer.UNKNOWN
    """Water leaves the pond these days."""
    tell_downstream: str = ""
    """Whom to tell before the first start."""
    well_near: Answer = Answer.UNKNOWN
    potable_intake: Answer = Answer.UNKNOWN
    livestock_intake: Answer = Answer.UNKNOWN
    irrigation_intake: Answer = Answer.UNKNOWN
    swimmers: Answer = Answer.UNKNOWN
    animals: Answer = Answer.UNKNOWN
    """Dogs or livestock that come to the water."""
    spawning_beds: Answer = Answer.UNKNOWN
    """Nests with eggs or fry on them now."""
    protected_species: Answer = Answer.UNKNOWN
    other_pumps: Answer = Answer.UNKNOWN
    """Pumps, fountains or other air in the pond."""
    shore_owner: str = ""
    bed_owner: str = ""
    herbicide: Answer = Answer.UNKNOWN
    """Herbicide or algaecide in the last weeks."""
    herbicide_date: date | None = None
    herbicide_reason: str = ""
    """Why a start-up within 14 days of a treatment is right all the same."""


class Site(Value):
    """Where the pond lies."""

    latitude_deg: float = Field(ge=-90.0, le=90.0)
    longitude_deg: float = Field(ge=-180.0, le=180.0)
    elevation_m: float = Field(ge=-450.0, le=5000.0)
    time_zone: str = "UTC"
    facts: SiteFacts | None = None


class Point(Value):
    """A place on the pond: longitude and latitude (WGS 84), in degrees."""

    longitude_deg: float = Field(ge=-180.0, le=180.0)
    latitude_deg: float = Field(ge=-90.0, le=90.0)


class LocalPoint(Value):
    """A place in the local plane of the job: metres east and north of the site's position."""

    x_m: float = Field(ge=-100_000.0, le=100_000.0)
    y_m: float = Field(ge=-100_000.0, le=100_000.0)


Place = Point | LocalPoint


class Sounding(Value):
    """One measured depth, positive down from the water surface of that day."""

    place: Place
    depth_m: float = Field(ge=0.0, le=200.0)
    row: int = Field(default=0, ge=0, le=10**9)
    """Row of the file it came from, for messages."""
    muck_m: float | None = Field(default=None, ge=0.0, le=30.0)
    """Thickness of the soft muck under it, down to firm bottom, where somebody probed."""
    level_m: float | None = Field(default=None, ge=-450.0, le=5000.0)
    """Reading of the staff gauge when it was taken, upwards; any zero, the same for all."""
    day: date | None = None
    """When it was taken."""


class Mark(Value):
    """A thing on the shore that a crew can find and sight from: a post, a corner of the dock."""

    name: str
    place: Place


class Shape(StrEnum):
    """Classes of basin for a volume without soundings; the ratio V/(A·z_max) is in sources/shapes.csv."""

    CONE = "cone"
    BOWL = "bowl"
    PARABOLOID = "paraboloid"
    TROUGH = "trough"
    STEEP = "steep"
    UNKNOWN = "unknown"


class Wall(Value):
    """An upright wall or cut bank along the shore, the shorter way between two places on it."""

    start: Place
    end: Place
    depth_m: float = Field(gt=0.0, le=20.0)
    """Of the water at its foot."""


class Pond(Value):
    """The pond: an outline with soundings, or at least an area and a greatest depth."""

    area_m2: float | None = Field(default=None, gt=0.0, le=1e9)
    max_depth_m: float | None = Field(default=None, gt=0.0, le=200.0)
    shape: Shape = Shape.UNKNOWN
    secchi_depth_m: float | None = Field(default=None, gt=0.0, le=100.0)
    outline: tuple[tuple[Place, ...], ...] = ()
    """Rings: the shore first, then islands. Closed (first = last) or not, both are understood."""
    soundings: tuple[Sounding, ...] = ()
    keep_rows: tuple[Annotated[int, Field(ge=1, le=10**9)], ...] = ()
    """Rows of soundings.csv that count although cleaning would leave them out."""
    transducer_depth_m: float | None = Field(default=None, ge=0.0, le=5.0)
    """Of the sounder below the water's surface, where its readings do not hold it yet: added to every sounding."""
    shore_depth_m: float | None = Field(default=None, ge=0.0, le=20.0)
    """Depth at the water's edge where walls or cut banks stand upright, on the mean of the shore; none given: 0."""
    walls: tuple[Wall, ...] = ()
    """Walls on a stretch of the shore; elsewhere ``shore_depth_m`` holds."""
    bank_run_number: float | None = Field(default=None, ge=0.2, le=50.0)
    """Run of the banks for one of fall, as 3 of 3:1, on the mean of the shore; None: weighed with a prior."""
    level_offset_m: float = Field(default=0.0, ge=-50.0, le=50.0)
    """Water level today minus the level on the day of the soundings; below zero when the pond is low."""
    obstacle_height_m: float = Field(default=3.0, ge=0.0, le=500.0)
    """Height of the banks and trees around the water: they keep off wind and take sun."""
    marks: tuple[Mark, ...] = ()
    """Marks on the shore for a crew without GPS; two that are seen from the water at a wide angle."""


class LifeStage(StrEnum):
    """The most delicate stage of the fish now in the pond."""

    ADULT = "adult"
    EARLY = "early"


class Fish(Value):
    """What lives in the pond."""

    species: tuple[str, ...] = ()
    stage: LifeStage = LifeStage.ADULT
    heavy_stock: bool | None = None
    """More fish than the pond feeds by itself; None: nobody said, and a usual stock is counted, which is told."""
    gasping_at_dawn: Answer = Answer.UNKNOWN
    kill_this_season: Answer = Answer.UNKNOWN


class Power(Value):
    """Power where the compressor stands."""

    place: Place | None = None
    """Where that is, for the way of the trunk over land where the manifold's place is to be found."""
    available: bool = True
    volts: float | None = Field(default=None, gt=0.0, le=1000.0)
    amps: float | None = Field(default=None, gt=0.0, le=10_000.0)
    feeder_length_m: float | None = Field(default=None, gt=0.0, le=1000.0)
    """Of the wire from the panel to the compressor's outlet, one way."""
    feeder_gauge: str = ""
    """Of that wire where it is there already: a gauge of sources/conductors.csv, such as "12"."""
    high_water_m: float | None = Field(default=None, ge=0.0, le=50.0)
    """How far the highest usual water stands over today's."""
    gfci: Answer = Answer.UNKNOWN
    """Whether the outlet has ground-fault protection."""
    trip_alarm: Answer = Answer.UNKNOWN
    """Whether somebody is told when the air stops."""


class Fitting(Value):
    """Fittings of one kind, by a name of sources/fittings.csv."""

    name: str
    count: int = Field(default=1, ge=1, le=500)


class MembranePoint(Value):
    """One point of a membrane's curve: pressure lost in it at a flow (68 °F, dry, 14.696 psia)."""

    air_m3_s: float = Field(ge=0.0, le=100.0)
    loss_pa: float = Field(ge=0.0, le=5e6)


class PipeSegment(Value):
    """One piece of the trunk, from the compressor towards the manifold."""

    pipe: str = ""
    """Name in sources/pipes.csv, or empty when ``bore_m`` is given."""
    bore_m: float | None = Field(default=None, gt=0.0, le=2.0)
    length_m: float = Field(gt=0.0, le=20_000.0)
    cover_m: float = Field(default=0.0, ge=0.0, le=10.0)
    """Depth of soil over the pipe; 0 lies on the surface."""
    start_elevation_m: float | None = Field(default=None, ge=-450.0, le=5000.0)
    end_elevation_m: float | None = Field(default=None, ge=-450.0, le=5000.0)
    minor_loss_number: float = Field(default=0.0, ge=0.0, le=1e5)
    """Sum of the K values of further fittings."""
    fittings: tuple[Fitting, ...] = ()
    check_valve_pa: float = Field(default=0.0, ge=0.0, le=5e6)
    """Cracking pressure of a check valve at its end; 0 without one."""
    standing_water_m: float = Field(default=0.0, ge=0.0, le=50.0)
    """Height of water standing in a dip of it, which the air must lift."""


class AirLine(PipeSegment):
    """A line beyond the trunk from which diffusers or further lines hang: with these any tree can be told."""

    name: str
    hangs_from: str = "manifold"
    """The manifold at the trunk's end, or another line."""


class Diffuser(Value):
    """One diffuser on its branch line."""

    name: str
    place: Place | None = None
    depth_m: float | None = Field(default=None, gt=0.0, le=200.0)
    """Depth of the membrane under today's water surface; read from the basin when None."""
    branch_length_m: float | None = Field(default=None, gt=0.0, le=20_000.0)
    branch_pipe: str = ""
    branch_bore_m: float | None = Field(default=None, gt=0.0, le=2.0)
    branch_through: tuple[Place, ...] = Field(default=(), max_length=MOST_BENDS)
    """Places in the water that its line is led through, in turn from the manifold."""
    hangs_from: str = "manifold"
    """The manifold at the trunk's end, or a line of ``air.lines``."""
    fittings: tuple[Fitting, ...] = ()
    valve: str = "ball"
    """Kind of its valve, of sources/valve_openings.csv."""
    check_valve_pa: float = Field(default=0.0, ge=0.0, le=5e6)
    """Cracking pressure of a check valve in its branch; 0 without one."""
    standing_water_m: float = Field(default=0.0, ge=0.0, le=50.0)
    """Height of water standing in a dip of its branch."""
    membrane: tuple[MembranePoint, ...] = ()
    """Its own curve, where it is not the one of all."""
    served_volume_m3: float | None = Field(default=None, gt=0.0, le=1e9)
    """Water it is to serve, for valves set by volume."""


class CurvePoint(Value):
    """One point of a compressor's curve: free air at the intake against outlet gauge pressure."""

    pressure_pa: float = Field(ge=0.0, le=5e6)
    intake_flow_m3_s: float = Field(ge=0.0, le=100.0)


class Compressor(Value):
    """A compressor: by a generic name in sources/compressors.csv, or by its own curve."""

    name: str = ""
    curve: tuple[CurvePoint, ...] = ()
    elevation_m: float | None = Field(default=None, ge=-450.0, le=5000.0)
    relief_pressure_pa: float | None = Field(default=None, gt=0.0, le=5e6)
    efficiency: float = Field(default=0.5, ge=0.1, le=1.0)
    """Isentropic efficiency, for the outlet temperature; none of the trade's machines is under a tenth."""
    power_w: float | None = Field(default=None, gt=0.0, le=1e6)
    count: int = Field(default=1, ge=1, le=20)
    motor: str = ""
    """Kind of its motor, of sources/motor_starts.csv; empty: not known."""
    start_pressure_pa: float | None = Field(default=None, ge=0.0, le=5e6)
    """Highest gauge pressure against which it starts, by its maker's sheet."""
    volts_v: float | None = Field(default=None, gt=0.0, le=1000.0)
    running_current_a: float | None = Field(default=None, gt=0.0, le=10_000.0)
    """Of one machine, from its plate."""
    starting_current_a: float | None = Field(default=None, gt=0.0, le=10_000.0)
    """Of one machine: locked rotor, from its plate or sheet."""
    noise_dba: float | None = Field(default=None, ge=0.0, le=130.0)
    """Of one machine at 1 m."""


class Housing(StrEnum):
    """What a compressor stands in."""

    CABINET = "cabinet"
    ROOM = "room"
    OPEN = "open"
    UNKNOWN = "unknown"


class Cabinet(Value):
    """What the compressor stands in, for how warm its intake gets; what is not known is counted as usual."""

    housing: Housing = Housing.UNKNOWN
    surface_m2: float | None = Field(default=None, gt=0.0, le=200.0)
    """Of walls and roof, outside."""
    vent_area_m2: float | None = Field(default=None, gt=0.0, le=20.0)
    """Net free area of the low openings; the high ones have as much."""
    vent_height_m: float | None = Field(default=None, gt=0.0, le=20.0)
    """From the middle of the low openings to the middle of the high ones."""
    fan_flow_m3_s: float | None = Field(default=None, ge=0.0, le=10.0)
    """Air that its fan moves, as it is built in; 0 without a fan."""
    shade: Answer = Answer.UNKNOWN


class OwnCompressor(Value):
    """A compressor of the contractor's own list, with what it costs to buy and to keep."""

    name: str
    curve: tuple[CurvePoint, ...] = Field(min_length=2)
    power_w: tuple[Annotated[float, Field(gt=0.0, le=1e6)], ...]
    """Power from the wall at each point of the curve, or one for all of them."""
    purchase_each: float = Field(ge=0.0, le=1e7)
    install_each: float | None = Field(default=None, ge=0.0, le=1e7)
    volts: float | None = Field(default=None, gt=0.0, le=1000.0)
    running_current_a: float | None = Field(default=None, gt=0.0, le=10_000.0)
    compression_efficiency: float | None = Field(default=None, ge=0.1, le=1.0)
    """Isentropic, for the outlet temperature."""
    max_pressure_pa: float | None = Field(default=None, gt=0.0, le=5e6)
    """Highest gauge pressure it may work at all day; the end of the curve when None."""
    relief_pressure_pa: float | None = Field(default=None, gt=0.0, le=5e6)
    outlet_limit_degc: float | None = Field(default=None, ge=20.0, le=300.0)
    duty_fraction: float | None = Field(default=None, gt=0.0, le=1.0)
    """Part of the day it may run."""
    noise_dba: float | None = Field(default=None, ge=0.0, le=130.0)
    """At 1 m."""
    service_interval_h: float | None = Field(default=None, gt=0.0, le=1e6)
    service_each: float | None = Field(default=None, ge=0.0, le=1e7)
    rebuild_interval_h: float | None = Field(default=None, gt=0.0, le=1e6)
    rebuild_each: float | None = Field(default=None, ge=0.0, le=1e7)


class HoldTest(Value):
    """An old pipe pumped up, shut in and watched; gauge pressures."""

    start_pressure_pa: float = Field(gt=0.0, le=5e6)
    end_pressure_pa: float = Field(ge=0.0, le=5e6)
    minutes: float = Field(gt=0.0, le=1e6)
    temperature_degc: float = Field(ge=-40.0, le=60.0)
    """Of the pipe and its air as the clock starts: that of the soil, once it has been shut in for long."""
    end_temperature_degc: float | None = Field(default=None, ge=-40.0, le=60.0)


class OpenEndTest(Value):
    """A known flow blown through an old pipe whose far end is open."""

    air_m3_s: float = Field(gt=0.0, le=100.0)
    """Standard flow (68 °F, dry, 14.696 psia)."""
    inlet_pressure_pa: float = Field(gt=0.0, le=5e6)
    temperature_degc: float = Field(ge=-40.0, le=120.0)
    gauge_error_pa: float | None = Field(default=None, gt=0.0, le=5e6)
    """Standard error of the gauge; that of a plain gauge of the least span that holds the reading when None."""
    flow_error_fraction: float = Field(default=0.05, gt=0.0, le=0.5)
    """Standard error of the flow, as a part of it."""


class OldPipe(Value):
    """A pipe that is already in the ground: what its wall says, and what two tests say."""

    length_m: float = Field(gt=0.0, le=20_000.0)
    print_line: str = ""
    """As it stands on the wall, such as "3/4 IN SIDR 15 PE 100 PSI ASTM D2239"; it beats every test."""
    nominal: str = ""
    """Trade size where it is known, "3/4 in"."""
    material: str = ""
    """A word of sources/pipe_materials.csv where it is known."""
    cover_m: float = Field(default=0.45, ge=0.0, le=10.0)
    hold_test: HoldTest | None = None
    open_end_test: OpenEndTest | None = None


class AirSystem(Value):
    """What carries air from the power to the bubbles; empty parts are designed by the stages."""

    compressor: Compressor | None = None
    trunk: tuple[PipeSegment, ...] = ()
    route_length_m: float | None = Field(default=None, gt=0.0, le=20_000.0)
    rise_m: float | None = Field(default=None, ge=-500.0, le=500.0)
    """Elevation of the compressor above the pond's water; below zero when it stands lower."""
    manifold: Place | None = None
    lines: tuple[AirLine, ...] = ()
    """Lines beyond the trunk, where the tree has more than one manifold."""
    diffusers: tuple[Diffuser, ...] = ()
    branch_pipe: str = "tubing-1/2"
    coil_length_m: float | None = Field(default=None, gt=0.0, le=20_000.0)
    """Of a coil of it, as it is bought."""
    coil_mass_kg: float | None = Field(default=None, gt=0.0, le=1e5)
    """What such a coil weighs."""
    slack_fraction: Fraction = 0.08
    membrane_loss_pa: float = Field(default=3000.0, ge=0.0, le=5e6)
    """Pressure lost in a membrane at any flow, where no curve is given."""
    membrane: tuple[MembranePoint, ...] = ()
    """Curve of a membrane, by rising flow."""
    membrane_least_air_m3_s: float | None = Field(default=None, gt=0.0, le=100.0)
    """Least standard flow of one membrane by its maker's sheet; under it the air comes out in patches."""
    membrane_most_air_m3_s: float | None = Field(default=None, gt=0.0, le=100.0)
    """Greatest standard flow of one membrane by its maker's sheet."""
    balance: Literal["equal", "depth", "volume"] = "equal"
    """How the valves share the air: alike, by depth, or by the volume each diffuser serves."""
    filter_loss_pa: float = Field(default=0.0, ge=0.0, le=5e6)
    """Pressure lost in the intake filter as it is."""
    disc_radius_m: float = Field(default=0.115, gt=0.0, le=10.0)
    base_height_m: float = Field(default=0.3, ge=0.0, le=20.0)
    """Height of the membrane above the bottom."""
    air_per_diffuser_m3_s: float | None = Field(default=None, gt=0.0, le=100.0)
    """Wanted standard flow a diffuser (68 °F, dry, 14.696 psia)."""
    intake_temperature_degc: float | None = Field(default=None, ge=-60.0, le=80.0)
    soil_temperature_degc: float | None = Field(default=None, ge=-60.0, le=80.0)
    roughness_m: float = Field(default=1.5e-6, ge=0.0, le=0.1)
    intake_humidity_fraction: Fraction | None = None
    """Relative humidity of the air where the compressor stands."""
    cabinet: Cabinet | None = None
    neighbour_distance_m: float | None = Field(default=None, gt=0.0, le=100_000.0)
    """From the compressor to the nearest window or boundary that its noise must not disturb."""
    night_limit_dba: float | None = Field(default=None, ge=10.0, le=90.0)
    """Noise allowed there by night."""
    old_pipe: OldPipe | None = None
    """A pipe in the ground that is to be used: the pieces of trunk named "old-pipe", or the whole trunk."""


class RoutePoint(Value):
    """One station of the air line's route on land, from the compressor to the water's edge."""

    station_m: float = Field(ge=0.0, le=20_000.0)
    """Distance from the compressor, along the trench."""
    elevation_m: float = Field(ge=-450.0, le=5000.0)
    """Of the ground."""
    cover_m: float | None = Field(default=None, ge=0.0, le=5.0)
    """Soil over the pipe from here to the next station; 0 lies on the ground."""
    soil: str = ""
    crossing: str = ""
    """What the line crosses from here to the next station: a drive, a power line, a dam."""


class Trench(Value):
    """The digging: what was asked for before it, and when it is to be done."""

    width_m: float = Field(default=0.15, gt=0.0, le=10.0)
    frost_depth_m: float | None = Field(default=None, ge=0.0, le=10.0)
    water_elevation_m: float | None = Field(default=None, ge=-450.0, le=5000.0)
    """Of the pond's water, on the levels of route.csv."""
    locate_ticket: str = ""
    """Number of the public utility-locate call."""
    ticket_expires: date | None = None
    private_lines_located: Answer = Answer.UNKNOWN
    """Lines the public call does not mark (to a shed, irrigation, propane), found by a private locator."""
    dig_date: date | None = None


class Prices(Value):
    """What things cost this contractor, in the customer's money."""

    currency: str = "USD"
    energy_per_kwh: float | None = Field(default=None, ge=0.0, le=1e5)
    trench_per_m: float | None = Field(default=None, ge=0.0, le=1e5)
    pipe_per_m: float | None = Field(default=None, ge=0.0, le=1e5)
    diffuser_each: float | None = Field(default=None, ge=0.0, le=1e7)
    compressor_each: float | None = Field(default=None, ge=0.0, le=1e7)
    visit_each: float | None = Field(default=None, ge=0.0, le=1e7)
    metal_pipe_per_m: float | None = Field(default=None, ge=0.0, le=1e5)
    branch_per_m: float | None = Field(default=None, ge=0.0, le=1e5)
    membrane_each: float | None = Field(default=None, ge=0.0, le=1e7)
    power_trench_per_m: float | None = Field(default=None, ge=0.0, le=1e5)
    """Trench and conduit for a wire, without the wire."""
    pond_outlet_each: float | None = Field(default=None, ge=0.0, le=1e7)
    """Disconnect, outlet with its protection and post where power ends at the pond."""
    service_connection_each: float | None = Field(default=None, ge=0.0, le=1e7)
    """A new service of the utility at the pond, once."""
    meter_fee_per_month: float | None = Field(default=None, ge=0.0, le=1e7)
    """Standing fee of a second meter."""


class Costs(Value):
    """How costs over years are counted; what is left out is assumed, and said."""

    years: int | None = Field(default=None, ge=1, le=50)
    discount_rate_fraction: float | None = Field(default=None, ge=0.0, le=0.5)
    """Real: over the rise of prices."""
    running_hours: float | None = Field(default=None, gt=0.0, le=24.0)
    """Hours of air a day."""
    running_days: int | None = Field(default=None, ge=1, le=365)
    """Days of air a year."""
    membrane_interval_h: float | None = Field(default=None, gt=0.0, le=1e6)
    """Hours of running after which a membrane is changed."""
    most_voltage_drop_fraction: float | None = Field(default=None, gt=0.0, le=0.2)
    most_diffusers: int | None = Field(default=None, ge=1, le=12)
    """Numbers of diffusers tried end here."""


class Attendance(Value):
    """When somebody can be at the pond."""

    weekdays: tuple[Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"], ...] = (
        "mon", "tue", "wed", "thu", "fri", "sat", "sun",
    )  # fmt: skip
    first_hour_h: float = Field(default=7.0, ge=0.0, le=24.0)
    last_hour_h: float = Field(default=19.0, ge=0.0, le=24.0)


class Wishes(Value):
    """What the owner wants and what risk is accepted."""

    turnover_per_day: float = Field(default=1.0, gt=0.0, le=100.0)
    """Wanted turnovers of the whole pond a day."""
    job_risk: Fraction = 0.05
    day_risk: Fraction = 0.02
    start_date: date | None = None
    longest_start_up_d: int = Field(default=21, ge=3, le=60)
    keep_out: tuple[tuple[Place, ...], ...] = ()


class SmellStrength(StrEnum):
    """Smell of rotten eggs in a sample of the water."""

    NONE = "none"
    FAINT = "faint"
    STRONG = "strong"


class ProfilePoint(Value):
    """One depth of a profile. Ammonia is total, as N; alkalinity as CaCO₃; sulphide total, as S."""

    depth_m: float = Field(ge=0.0, le=200.0)
    temperature_degc: float = Field(ge=-0.5, le=45.0)
    do_mg_l: Oxygen
    ph: float | None = Field(default=None, ge=3.0, le=12.0)
    alkalinity_mg_l: float | None = Field(default=None, ge=0.0, le=1e5)
    conductivity_us_cm: float | None = Field(default=None, ge=0.0, le=3e5)
    ammonia_mg_l: float | None = Field(default=None, ge=0.0, le=1000.0)
    sulphide_mg_l: float | None = Field(default=None, ge=0.0, le=1000.0)
    smell: SmellStrength | None = None


class When(StrEnum):
    """When in the course of a run day a profile was read."""

    BEFORE = "before"
    SHUT_OFF = "shut-off"
    LATER = "later"
    DUSK = "dusk"
    DAWN = "dawn"


def _kind_is_named(schema: dict[str, Any]) -> None:
    # its kind tells one observation from another, so whoever sends one has to name it
    schema["required"] = ["kind", *(name for name in schema.get("required", []) if name != "kind")]


class Observed(Value):
    """Base of all observations: their description asks for the kind."""

    model_config = ConfigDict(json_schema_extra=_kind_is_named)


class Profile(Observed):
    """Temperature and oxygen read from top to bottom at one time; points in order of depth."""

    kind: Literal["profile"] = "profile"
    id: str
    time: datetime
    points: tuple[ProfilePoint, ...] = Field(min_length=1)
    when: When | None = None
    """Part of the run day; None where nobody said."""
    meter: str | None = None
    """Name of the meter: readings of one meter share its bias."""


class OxygenReading(Observed):
    """Oxygen alone, without temperature, at one or more depths: it tells of the water, and is no profile."""

    kind: Literal["oxygen"] = "oxygen"
    id: str
    time: datetime
    depth_m: tuple[Annotated[float, Field(ge=0.0, le=200.0)], ...] = Field(min_length=1)
    do_mg_l: tuple[Oxygen, ...] = Field(min_length=1)
    when: When | None = None
    meter: str | None = None

    @model_validator(mode="after")
    def _paired(self) -> Self:
        if len(self.depth_m) != len(self.do_mg_l):
            raise ValueError(
                f"{len(self.depth_m)} depths and {len(self.do_mg_l)} values of oxygen: give one value for each depth."
            )
        return self


class Bottle(Observed):
    """One bottle test of the oxygen demand of bottom water."""

    kind: Literal["bottle"] = "bottle"
    id: str
    time: datetime
    depth_m: float = Field(ge=0.0, le=200.0)
    bottom_share: Fraction = 0.5
    """Part of bottom water in the mixture: 0.5 for 1:1, 0.25 for 1:3."""
    bottom_do_mg_l: Oxygen
    surface_do_mg_l: Oxygen
    after_15min_mg_l: Oxygen | None = None
    after_24h_mg_l: Oxygen | None = None
    surface_after_24h_mg_l: Oxygen | None = None


class GaugeReading(Observed):
    """One reading of a gauge on the air line."""

    kind: Literal["gauge"] = "gauge"
    id: str
    time: datetime
    place: str
    pressure_pa: float = Field(ge=-1e5, le=5e6)


class AirRun(Value):
    """Air that ran: from ``start`` for so many minutes, through the named diffusers."""

    start: datetime
    minutes: float = Field(gt=0.0, le=60.0 * 24.0 * 366.0)
    diffusers: tuple[str, ...] = ()
    """Names of the diffusers whose valves were open; none named: all of them."""


Observation = Annotated[Profile | OxygenReading | Bottle | GaugeReading, Field(discriminator="kind")]


class WeatherHour(Value):
    """Weather of the hour that ends at ``time``."""

    time: datetime
    air_temperature_degc: float = Field(ge=-60.0, le=60.0)
    relative_humidity_fraction: Fraction
    wind_speed_m_s: float = Field(ge=0.0, le=80.0)
    shortwave_w_m2: float = Field(ge=0.0, le=1500.0)
    cloud_fraction: Fraction | None = None
    longwave_w_m2: float | None = Field(default=None, ge=0.0, le=1000.0)
    pressure_pa: float | None = Field(default=None, gt=0.0, le=5e6)
    rain_mm: float | None = Field(default=None, ge=0.0, le=1000.0)


class AsDesigned(Value):
    """What the plan decided, kept with the revision of the job it came from."""

    made_on: date
    manifold: Place | None = None
    diffusers: tuple[Diffuser, ...] = ()
    compressor: Compressor | None = None
    notes: str = ""


class AcceptedGauge(Value):
    """One gauge of the accepted commissioning: what was read, and the band that it was held against."""

    time: datetime
    place: str
    """compressor, manifold, or a port."""
    pressure_pa: float = Field(ge=0.0, le=5e6)
    expected_pa: float = Field(ge=0.0, le=5e6)
    p05_pa: float = Field(ge=0.0, le=5e6)
    p95_pa: float = Field(ge=0.0, le=5e6)
    water_level_m: float | None = Field(default=None, ge=-5.0, le=5.0)
    """Over the level at which the diffusers' depths hold; None where it was not read."""
    open_ports: tuple[str, ...] = ()
    """Ports whose valves were open, the others shut; none named: all."""
    full_open: bool = False
    """The open valves stood full open, not as set."""
    disagreed: bool = False
    """It was accepted though it lay farther off than a sound line's worst gauge."""


class Commissioned(Value):
    """The gauges of the first visits as the crew accepted them: what the line showed while it was sound."""

    record_version: Literal["1"] = "1"
    accepted_on: date
    accepted_by: str
    reason: str = ""
    """Why it was accepted where a gauge disagreed."""
    intake_temperature_degc: float | None = Field(default=None, ge=-40.0, le=60.0)
    """Of the air that the compressor drew that day; the job's when None."""
    gauges: tuple[AcceptedGauge, ...] = Field(min_length=1)


class AsBuilt(Value):
    """What the crew left in the ground and in the water; later stages prefer it to the design."""

    made_on: date
    manifold: Place | None = None
    diffusers: tuple[Diffuser, ...] = ()
    trunk: tuple[PipeSegment, ...] = ()
    notes: str = ""
    commissioned: Commissioned | None = None


class Job(Value):
    """One pond and all that is known about the work on it."""

    format_version: Literal[1] = FORMAT_VERSION
    id: str
    name: str
    date: date
    seed: int = Field(default=1, ge=0, le=2**31 - 1)
    site: Site
    pond: Pond
    fish: Fish = Fish()
    power: Power = Power()
    air: AirSystem = AirSystem()
    trench: Trench = Trench()
    prices: Prices = Prices()
    costs: Costs = Costs()
    equipment: tuple[OwnCompressor, ...] = ()
    """The contractor's own compressors, beside the generic table."""
    wishes: Wishes = Wishes()
    attendance: Attendance = Attendance()
    observations: tuple[Observation, ...] = ()
    runs: tuple[AirRun, ...] = ()
    """What air has run so far, in order of time."""
    route: tuple[RoutePoint, ...] = ()
    """The way of the air line on land, by rising station."""
    weather: tuple[WeatherHour, ...] = ()
    as_designed: AsDesigned | None = None
    as_built: AsBuilt | None = None

    @property
    def listed_diffusers(self) -> tuple[Diffuser, ...]:
        """The diffusers that the job names: what was built before what was asked for."""
        return (self.as_built.diffusers if self.as_built else ()) or self.air.diffusers

    @property
    def profiles(self) -> tuple[Profile, ...]:
        """Profiles of temperature and oxygen among the observations, in order of time."""
        found = [item for item in self.observations if isinstance(item, Profile)]
        return tuple(sorted(found, key=lambda profile: profile.time))

    @property
    def latest_profile(self) -> Profile | None:
        """The latest profile that shows layers (two depths or more), else the latest, or None without any."""
        found = self.profiles
        layered = [profile for profile in found if len(profile.points) > 1]
        return layered[-1] if layered else found[-1] if found else None

    @property
    def oxygen_readings(self) -> tuple[OxygenReading, ...]:
        """Readings of oxygen alone among the observations, in order of time."""
        found = [item for item in self.observations if isinstance(item, OxygenReading)]
        return tuple(sorted(found, key=lambda reading: reading.time))

    @property
    def bottles(self) -> tuple[Bottle, ...]:
        """Bottle tests among the observations, in order of time."""
        found = [item for item in self.observations if isinstance(item, Bottle)]
        return tuple(sorted(found, key=lambda bottle: bottle.time))
