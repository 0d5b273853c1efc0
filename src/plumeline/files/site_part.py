"""The site: its position, and the clock that stamps without an offset follow."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from typing import Any

from plumeline.files.findings import Findings, near
from plumeline.files.ten_answers import EXAMPLES
from plumeline.files.times import known_zone
from plumeline.files.toml_part import TomlPart, build
from plumeline.files.toml_values import JOB_FILE, Missing
from plumeline.job.document import Site

POND_LATITUDE_DEG = 72.0
"""Farther from the equator no pond is aerated: such a latitude is a longitude."""
_TRIPLE = "site.latitude_longitude_elevation"


def read_site(part: TomlPart, day: date | None, findings: Findings) -> Site | None:
    """Return the site, or None with faults; longitude and latitude are put right where that is sure."""
    fields: dict[str, Any] = dict(part.sections.get("site", {}))
    wanted = ("latitude_deg", "longitude_deg", "elevation_m")
    missing = [name for name in wanted if name not in fields]
    if missing:
        tried = part.faulty | findings.meant
        _look_at_place(fields, day, findings)
        if not any(path.startswith("site.") and "time_zone" not in path for path in tried):
            said = "is still empty." if len(missing) == 3 else f"{', '.join(missing)} is still missing."
            where = _TRIPLE if len(missing) == 3 else "site"
            findings.fault(JOB_FILE, where, said, f"Give it, as {_TRIPLE} = {EXAMPLES[_TRIPLE]}.")
        return None
    latitude, longitude = fields["latitude_deg"], fields["longitude_deg"]
    if abs(latitude) > POND_LATITUDE_DEG and abs(longitude) <= POND_LATITUDE_DEG:
        fields |= {"latitude_deg": longitude, "longitude_deg": latitude}
        findings.caution(
            "swapped-coordinates",
            f"{JOB_FILE}, site: latitude {latitude:g} and longitude {longitude:g} have changed places; "
            f"latitude {longitude:g} is used.",
        )
    fields["time_zone"] = _zone_name(fields.get("time_zone", ""), fields["longitude_deg"], findings)
    if not fields["time_zone"]:
        return None
    site = build(Site, fields, "site", findings)
    if isinstance(site, Missing) or not isinstance(site, Site):
        return None
    _echo_clock(site, day, findings)
    _check_clock(site, day, findings)
    return site


def _look_at_place(fields: dict[str, Any], day: date | None, findings: Findings) -> None:
    """Tell what is wrong with the clock, and with both together, where the position is at fault: all in one pass."""
    given = fields.get("time_zone", "")
    zone = _zone_name(given, 0.0, findings) if given.strip() else ""
    if zone and {"latitude_deg", "longitude_deg"} <= fields.keys():
        _check_clock(
            Site(
                latitude_deg=fields["latitude_deg"], longitude_deg=fields["longitude_deg"], elevation_m=0.0,
                time_zone=zone,
            ),
            day,
            findings,
        )  # fmt: skip


def zone_of(site: Site | None) -> tzinfo:
    """Return the clock of the site; UTC while the site is not known."""
    return (known_zone(site.time_zone) if site else None) or UTC


def _zone_name(given: str, longitude_deg: float, findings: Findings) -> str:
    """Return the time zone, one made from the longitude when none was given, empty after a fault."""
    given = given.strip()
    if not given:
        hours = round(longitude_deg / 15.0)
        name = f"Etc/GMT{-hours:+d}" if hours else "UTC"
        findings.note(
            "time-zone-assumed",
            f"{JOB_FILE}, site.time_zone is not given: times without an offset follow the sun's clock at "
            f"this longitude ({timezone(timedelta(hours=hours))}, no summer time).",
        )
        return name
    if known_zone(given) is not None:
        return given
    from zoneinfo import available_timezones

    names = available_timezones()
    # "New York" is the end of one name
    ends = {name.rpartition("/")[2].replace("_", " "): name for name in sorted(names, key=_commonness)}
    last = (
        given.replace("_", " ")
        .title()
        .removesuffix(" Time")
        .removesuffix(" Standard")
        .removesuffix(" Daylight")
    )
    # "Eastern" alone is how the trade of one country says it
    close = (f"US/{last}" if f"US/{last}" in names else "") or ends.get(last, "") or near(given, names)
    hint = f'Did you mean "{close}"? ' if close else ""
    remedy = f'{hint}Write a name of the time-zone data, as "America/New_York".'
    findings.fault(JOB_FILE, "site.time_zone", f"no time zone is called {given!r}.", remedy)
    return ""


def _commonness(name: str) -> tuple[bool, str]:
    """Return what puts the names by continent and city behind the others, so that they win."""
    cities = ("America/", "Europe/", "Africa/", "Asia/", "Australia/", "Pacific/")
    return name.startswith(cities), name


def _echo_clock(site: Site, day: date | None, findings: Findings) -> None:
    """Say how the clock of a zone that was given goes on the day of the job."""
    moment = datetime.combine(day or date(2000, 1, 1), datetime.min.time(), zone_of(site))
    on_the_day = f" on {day.isoformat()}" if day else ""
    findings.echo(
        f"site.time_zone: {site.time_zone} = UTC{moment.strftime('%z')[:3]}:{moment.strftime('%z')[3:]}{on_the_day}"
    )


def _check_clock(site: Site, day: date | None, findings: Findings) -> None:
    """Add a notice when the clock and the longitude can't both be right: a lost minus sign, most often."""
    moment = datetime.combine(day or date(2000, 1, 1), datetime.min.time(), zone_of(site))
    ahead = (moment.utcoffset() or timedelta(0)) / timedelta(hours=1)
    if site.time_zone == "UTC" or abs(_turn(site.longitude_deg / 15.0 - ahead)) <= 4.0:
        return
    hint = "check the position"
    if abs(_turn(-site.longitude_deg / 15.0 - ahead)) <= 4.0:
        hint = "is the minus sign of a western longitude missing"
    elif abs(_turn(site.latitude_deg / 15.0 - ahead)) <= 4.0:
        hint = "have latitude and longitude changed places"
    findings.caution(
        "clock-differs",
        f"{JOB_FILE}, site: longitude {site.longitude_deg:g} lies far from the clock of {site.time_zone}; "
        f"{hint}?",
    )


def _turn(hours: float) -> float:
    """Return a difference of clocks within half a day."""
    return (hours + 12.0) % 24.0 - 12.0
