"""A job folder to a job: every file read, every fault collected, nothing guessed in silence."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

from plumeline.errors import Fault, JobFolderError
from plumeline.files import suspicions
from plumeline.files.empty_answers import report_empty
from plumeline.files.end_checks import check_ends
from plumeline.files.equipment_checks import check_air, check_diffusers, check_trunk
from plumeline.files.equipment_in import FILE as EQUIPMENT
from plumeline.files.equipment_in import read_equipment
from plumeline.files.findings import Findings
from plumeline.files.fish_part import known_species
from plumeline.files.geojson import FILE as OUTLINE
from plumeline.files.geojson import read_outline
from plumeline.files.observations import (
    BOTTLES,
    GAUGES,
    PROFILES,
    Seen,
    in_order,
    read_bottles,
    read_gauges,
    read_profiles,
    slug,
)
from plumeline.files.odd_answers import check_edge, check_heights, check_zones
from plumeline.files.outline_checks import are_swapped, check_outline, check_shape, place_xy
from plumeline.files.power_checks import check_cabinet, check_power
from plumeline.files.power_place import check_way
from plumeline.files.readings import READINGS, RUNS, check_times, read_readings, read_runs
from plumeline.files.route_in import FILE as ROUTE
from plumeline.files.route_in import read_route
from plumeline.files.short_reading import short_profile
from plumeline.files.site_part import read_site, zone_of
from plumeline.files.soundings import FILE as SOUNDINGS
from plumeline.files.soundings import build_soundings, read_soundings
from plumeline.files.times import Clock
from plumeline.files.toml_part import SECTIONS, TomlPart, build, read_toml
from plumeline.files.toml_values import JOB_FILE, Missing
from plumeline.files.weather_in import FILE as WEATHER
from plumeline.files.weather_in import read_weather
from plumeline.job.document import AirRun, Job, Pond, Site, Sounding
from plumeline.notices import Notice
from plumeline.stages.site_facts import power_notices, site_notices

MORNING = time(10, 0)


@dataclass(frozen=True)
class CheckReport:
    """What a look through a job folder found.

    Attributes:
        faults: what keeps the job from being used; every one of them.
        notices: what is odd, assumed or still empty.
        echoes: how values with units were understood.
        job: the job, when there is no fault.
    """

    faults: tuple[Fault, ...]
    notices: tuple[Notice, ...]
    echoes: tuple[str, ...]
    job: Job | None


def load_job(
    folder: Path, *, today: date | None = None, readings: Path | None = None, runs: Path | None = None
) -> Job:
    """Return the job of a folder.

    Args:
        folder: holds job.toml and, as far as they are known, the other files.
        today: the date of the job when neither job.toml nor a reading gives one.
        readings: readings of the visits, instead of the folder's readings.csv.
        runs: what air has run, instead of the folder's runs.csv.

    Raises:
        JobFolderError: with every fault of every file.
    """
    report = check_job(folder, today=today, readings=readings, runs=runs)
    if report.job is None:
        raise JobFolderError(report.faults)
    return report.job


def check_job(
    folder: Path,
    *,
    today: date | None = None,
    pond_needed: bool = True,
    readings: Path | None = None,
    runs: Path | None = None,
) -> CheckReport:
    """Return every fault, every notice, and the job when there is no fault; raises nothing.

    Args:
        folder: the job folder.
        today: the date of the job when neither job.toml nor a reading gives one.
        pond_needed: False where the air line alone is asked for: an empty pond is no fault then.
        readings: readings of the visits, instead of the folder's readings.csv.
        runs: what air has run, instead of the folder's runs.csv.
    """
    findings = Findings()
    for path in (readings, runs):
        if path is not None and not path.is_file():
            findings.fault(str(path), "", "is not a file.", "Name a CSV file that is there.")
    folder = Path(folder)
    job = None
    if not folder.is_dir():
        remedy = "Name a folder that holds job.toml; make one with: plumeline new FOLDER."
        findings.fault(str(folder), "", "is not a folder.", remedy)
    else:
        places = (readings or folder / READINGS, runs or folder / RUNS)
        job = _Look(folder, findings, today, pond_needed, *places).job()
    faults = findings.all_faults()
    return CheckReport(faults, tuple(findings.notices), tuple(findings.echoes), job if not faults else None)


@dataclass
class _Look:
    """One look through a folder."""

    folder: Path
    findings: Findings
    today: date | None
    pond_needed: bool
    readings: Path
    runs: Path

    def job(self) -> Job | None:
        findings = self.findings
        part = read_toml(self.folder / JOB_FILE, findings)
        whole = part is not None
        part = part or TomlPart()
        silent = findings if whole else Findings()
        day: date | None = part.top.get("date")
        site = read_site(part, day, silent)
        clock = Clock(zone_of(site))
        pond = self._pond(part, site)
        visits = read_readings(self.readings, clock, findings)
        seen = self._observations(clock) + visits
        dated = bool(seen)
        if part.reading and not any(item.file == PROFILES for item in seen):
            seen += short_profile(part, pond, day or self._day(seen), clock, findings)
            dated = dated or "time" in part.reading
        elif part.reading:
            findings.note(
                "short-reading-unused", f"{JOB_FILE}: [reading] is not used, for {PROFILES} holds profiles."
            )
        observations = in_order(seen, findings)
        day = day or self._assumed_day(seen, dated, silent, part)
        weather = self._weather(clock, day)
        if clock.ambiguous:
            findings.note(
                "hour-twice",
                f"{clock.ambiguous[0]} came twice, for the clocks were put back; the first one was taken.",
            )
        suspicions.check_observations(seen, pond, day, findings)
        sections = self._sections(part)
        check_heights(site, sections.get("air"), findings)
        times = [(f"row {item.row}", item.observation.time) for item in visits]
        check_times(times, self.readings.name, day, self.today, findings)
        runs = self._runs(clock, day, sections)
        route = read_route(self.folder / ROUTE, sections.get("air"), findings)
        equipment = read_equipment(self.folder / EQUIPMENT, findings)
        if whole:
            report_empty(part, self.folder, observations, findings, pond_needed=self.pond_needed)
        if findings.faults or site is None or day is None:
            # told with the faults, not after them; with the whole job it comes among the facts of the site
            findings.notices.extend(power_notices(sections.get("power")))
            return None
        sections |= {"site": site, "pond": pond, "observations": observations, "weather": weather}
        sections |= {"runs": runs, "route": route, "equipment": equipment}
        return self._whole(part, day, sections)

    def _whole(self, part: TomlPart, day: date, sections: dict[str, Any]) -> Job | None:
        """Return the job made of its parts."""
        name = part.top.get("name") or self.folder.resolve().name
        fields = {
            **sections,
            "id": part.top.get("id") or slug(name),
            "name": name,
            "date": day,
            "seed": part.top.get("seed", Job.model_fields["seed"].default),
        }
        job = build(Job, fields, "", self.findings)
        if not isinstance(job, Job):
            return None
        check_way(job, self.findings)
        self.findings.notices.extend(site_notices(job))
        return job

    def _pond(self, part: TomlPart, site: Site | None) -> Pond:
        findings = self.findings
        fields = dict(part.sections.get("pond", {}))
        rings = check_outline(read_outline(self.folder / OUTLINE, findings), site, findings)
        if rings:
            if fields.get("outline"):
                remedy = f"Keep the one in {OUTLINE}, or the one in {JOB_FILE}."
                findings.fault(JOB_FILE, "pond.outline", "is given twice.", remedy)
            fields["outline"] = rings
        elif fields.get("outline") and site is not None:
            drawn = fields["outline"]
            if any(len(set(ring)) < 3 for ring in drawn):
                remedy = "Give the corners in one round, without the first again."
                findings.fault(JOB_FILE, "pond.outline", "has a ring of fewer than 3 points.", remedy)
                del fields["outline"]  # what is looked at next needs a shape
            elif not check_shape(
                [[place_xy(place, site) for place in ring] for ring in drawn], JOB_FILE, findings
            ):
                del fields["outline"]
        fields["soundings"] = self._soundings(site)
        pond = build(Pond, fields, "pond", findings)
        if not isinstance(pond, Pond):
            return Pond()
        suspicions.check_soundings(pond, site, findings)
        suspicions.check_pond(pond, site, findings)
        check_edge(pond, findings)
        return pond

    def _soundings(self, site: Site | None) -> tuple[Sounding, ...]:
        table = read_soundings(self.folder / SOUNDINGS, self.findings)
        if table is None:
            return ()
        empty: list[float | None] = []
        pairs = [
            (lon, lat)
            for lon, lat in zip(
                table.numbers.get("lon", empty), table.numbers.get("lat", empty), strict=False
            )
            if lon is not None and lat is not None
        ]
        swapped = are_swapped(SOUNDINGS, pairs, site, self.findings) if pairs else False
        return () if swapped is None else build_soundings(table, self.findings, swapped=swapped)

    def _observations(self, clock: Clock) -> list[Seen]:
        return [
            *read_profiles(self.folder / PROFILES, clock, self.findings),
            *read_bottles(self.folder / BOTTLES, clock, self.findings),
            *read_gauges(self.folder / GAUGES, clock, self.findings),
        ]

    def _runs(self, clock: Clock, day: date | None, sections: dict[str, Any]) -> tuple[AirRun, ...]:
        """Return what air has run, with the diffusers by their names where there are any yet."""
        parts = [sections[name] for name in ("as_built", "air") if sections.get(name) is not None]
        names = next((found for part in parts if (found := [d.name for d in part.diffusers])), [])
        found = read_runs(self.runs, clock, names, self.findings)
        times = [(f"row {row}", run.start) for row, run in found]
        check_times(times, self.runs.name, day, self.today, self.findings)
        return tuple(run for _, run in found)

    def _day(self, seen: list[Seen]) -> date | None:
        """Return the day of the last reading, else today's if it was given."""
        days = [item.observation.time.date() for item in seen]
        return max(days, default=self.today)

    def _assumed_day(self, seen: list[Seen], dated: bool, findings: Findings, part: TomlPart) -> date | None:
        day = self._day(seen)
        if day is not None and "date" in part.faulty:
            return day
        if day is not None:
            source = "the last reading's" if dated else "today's"
            findings.note("date-assumed", f"{JOB_FILE} gives no date; {source} is used, {day.isoformat()}.")
        elif "date" not in part.faulty:
            remedy = (
                "Give the day that the plan is made for, date = 2026-08-11, or run with --date 2026-08-11."
            )
            findings.fault(JOB_FILE, "date", "is still empty.", remedy)
        return day

    def _weather(self, clock: Clock, day: date | None) -> Any:
        wanted = datetime.combine(day or date(2000, 1, 1), MORNING, clock.zone)
        found = Findings() if day is None else self.findings
        hours = read_weather(self.folder / WEATHER, clock, wanted, found)
        if day is None:
            self.findings.faults.extend(found.all_faults())
        return hours

    def _sections(self, part: TomlPart) -> dict[str, Any]:
        """Return the other parts of the job that stand in job.toml."""
        found: dict[str, Any] = {}
        for name, fields in part.sections.items():
            if name in ("site", "pond"):
                continue
            section = build(SECTIONS[name], fields, name, self.findings)
            if not isinstance(section, Missing):
                found[name] = section
        if "fish" in found:
            found["fish"] = known_species(found["fish"], self.findings)
        if "wishes" in found:
            check_zones(found["wishes"], self.findings)
        if "air" in found:
            check_air(found["air"], self.findings)
            check_ends(found["air"], self.findings)
            if found["air"].cabinet is not None:
                check_cabinet(found["air"].cabinet, self.findings)
        if "power" in found:
            plate = found["air"].compressor if "air" in found else None
            check_power(found["power"], plate, self.findings)
        for name in ("as_designed", "as_built"):
            if name in found:
                check_diffusers(found[name].diffusers, f"{name}.diffusers", self.findings)
        if "as_built" in found:
            check_trunk(found["as_built"].trunk, "as_built.trunk", self.findings)
        return found
