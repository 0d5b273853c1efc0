"""Sentences that name keys of job.toml, as a page says them: in the trade's words, with a key where it has no field."""

from __future__ import annotations

import re

from plumeline.files.site_questions import QUESTIONS
from plumeline.files.toml_values import JOB_FILE

WORDS = {
    "air.branch_pipe": "the branches' pipe",
    "air.cabinet": "what the compressor stands in",
    "air.coil_length": "the length of a coil",
    "air.coil_mass": "the weight of a coil",
    "air.compressor": "the compressor",
    "air.compressor.motor": "the kind of its motor",
    "air.compressor.noise": "the compressor's noise",
    "air.diffusers": "the diffusers",
    "air.lines": "the lines beyond the manifold",
    "air.manifold": "the manifold's place",
    "air.membrane_least_air": "the least air of a membrane",
    "air.membrane_most_air": "the most air of a membrane",
    "air.neighbour_distance": "the way to the nearest neighbour",
    "air.night_limit": "the noise allowed by night",
    "air.old_pipe": "the pipe that is in the ground",
    "air.rise": "the compressor's height over the water",
    "air.route_length": "the length of the trench",
    "air.trunk": "the pieces of the line",
    "as_built": "the line as it was built",
    "fish.heavy_stock": "the stock",
    "fish.species": "the fish",
    "pond.area": "the area of the water",
    "pond.bank_slope": "the slope of the banks",
    "pond.keep_rows": "the rows that are kept",
    "pond.level_offset": "today's level over that of the soundings",
    "pond.max_depth": "the greatest depth",
    "pond.outline": "the shore",
    "pond.secchi_depth": "the Secchi depth",
    "pond.shore_depth": "the depth right at the shore",
    "pond.transducer_depth": "the depth of the transducer",
    "pond.walls": "the walls along the shore",
    "power.feeder_gauge": "the gauge of the wire from the panel",
    "power.feeder_length": "the length of the wire from the panel",
    "power.high_water": "the highest usual water over today's",
    "power.place": "the place of the compressor",
    "power.volts_amps": "volts and amperes",
    "reading": "the short reading",
    "reading.bottom": "a reading over the bottom",
    "reading.surface": "a reading at the surface",
    "site.elevation": "the elevation",
    "site.facts": "the facts of the site",
    "site.facts.herbicide_date": "the day of the treatment",
    "site.facts.spawning_beds": "spawning beds",
    "site.latitude_longitude_elevation": "latitude, longitude and elevation",
    "site.time_zone": "the time zone",
    "trench": "the trench",
    "trench.dig_date": "the day of the dig",
    "trench.frost_depth": "the depth of the frost",
    "trench.ticket_expires": "the end of the ticket",
    "trench.water_elevation": "the water's height on the levels of the course",
    "wishes.start_date": "the wished day of the start",
}
"""What a key of job.toml means, by table and key; a table of its own by its name."""
BARE = {
    "herbicide_date": "the day of the treatment",
    "herbicide_reason": "a reason for the start all the same",
    "tell_downstream": "whom to tell downstream",
    "branch_length": "the length of its branch",
    "open_ports": "open ports",
}
"""Keys that sentences name without their table."""
_ON_FORM = {one.key for one in QUESTIONS} | {"site.facts", "trench", "reading"}
_FILE_ONLY = "in the files: "
_HEAD = re.compile(rf"^{re.escape(JOB_FILE)}(?:, [\w.]+(?:\[\d+\])?)?: ")
_TABLE = re.compile(rf"\[\[?(?P<key>{'|'.join(map(re.escape, WORDS))})\]\]?(?: in {re.escape(JOB_FILE)})?")
_KEYS = sorted((key for key in WORDS if "." in key), key=len, reverse=True)
_KEY = re.compile(
    rf"(?<![\w.])(?<!{re.escape(_FILE_ONLY)})(?P<key>{'|'.join(map(re.escape, _KEYS))})"
    r"(?:\[(?P<number>\d+)\])?(?![\w]|\.\w)"
)
_BARE = re.compile(rf"(?<![\w.])(?:{'|'.join(BARE)})(?!\w)")
_SET = re.compile(r'\b(?P<name>[a-z]+(?:_[a-z]+)*) = "(?P<value>[^"]*)"')


def in_trade_words(text: str) -> str:
    """Return a sentence with what it says of job.toml as a page says it; one that was so turned stays as it is."""
    found, told = _HEAD.subn("", text)
    if told:
        found = found[:1].upper() + found[1:]
    found = _TABLE.sub(lambda one: _said(one["key"]), found)
    found = _KEY.sub(lambda one: _said(one["key"], one["number"]), found)
    found = _BARE.sub(lambda one: BARE[one[0]], found)
    return _SET.sub(lambda one: f"{one['name'].replace('_', ' ')}: {one['value']}", found)


def _said(key: str, number: str | None = None) -> str:
    words = f"{WORDS[key]}, number {number}" if number else WORDS[key]
    return words if key in _ON_FORM else f"{words} ({_FILE_ONLY}{key})"
