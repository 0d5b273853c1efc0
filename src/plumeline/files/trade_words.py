"""Sentences that name keys of job.toml in the trade's words: on a page, and on paper, which names no key at all."""

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
    "wishes.keep_out": "the zones that are kept out",
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
_OF_THE_SHELL = (
    (
        re.compile(r"Give --level, or the column water_level_m\."),
        "Read it, and write it down with the gauges.",
    ),
    (re.compile(r"plan it with --outage (\d+)d"), r"that restart is planned in the shell, with --outage \1d"),
)
"""What only the shell's user can do as it is said."""
_ON_PAPER: tuple[tuple[re.Pattern[str], str], ...] = (
    (re.compile(rf" \({re.escape(_FILE_ONLY)}[\w.]+\)"), ""),
    # who reads the paper has neither the table nor its columns
    (re.compile(r" \([a-z_]+\.csv(?:, [a-z_0-9]+)?\)"), ""),
    (re.compile(rf" in {re.escape(JOB_FILE)}(?=\W)"), ""),
)
_INTO = re.compile(r"\binto \[\[?(?P<key>[a-z_.]+)\]\]?")
_PLACE = re.compile(r"\w+\.\w+(?:\.\w+|\[\d+\])*")
_TABLES = {"air": "", "pond": "", "site": "", "fish": "", "prices": "price of "}
"""How a key of a table begins that has no words of its own; else with the table's name."""


def in_trade_words(text: str) -> str:
    """Return a sentence with what it says of job.toml as a page says it; one that was so turned stays as it is."""
    found, told = _HEAD.subn("", text)
    if told:
        found = found[:1].upper() + found[1:]
    found = _INTO.sub(lambda one: f"into the job ({_FILE_ONLY}{one['key']})", found)
    found = _TABLE.sub(lambda one: _said(one["key"]), found)
    found = _KEY.sub(lambda one: _said(one["key"], one["number"]), found)
    found = _BARE.sub(lambda one: BARE[one[0]], found)
    for shell, words in _OF_THE_SHELL:
        found = shell.sub(words, found)
    return _SET.sub(lambda one: f"{one['name'].replace('_', ' ')}: {one['value']}", found)


def on_paper(text: str) -> str:
    """Return a sentence as paper says it: in the trade's words, and without the files that its reader does not have."""
    found = in_trade_words(text)
    for pattern, words in _ON_PAPER:
        found = pattern.sub(words, found)
    return found


def place_in_words(place: str) -> str:
    """Return a place of job.toml (`air.trunk[2].cover`) as a page names it; one of another file as it is."""
    if not _PLACE.fullmatch(place):
        return place
    known = max((key for key in WORDS if re.match(rf"{re.escape(key)}(?![\w])", place)), key=len, default="")
    if known:
        rest = place[len(known) :]
        number, _, rest = rest[1:].partition("]") if rest.startswith("[") else ("", "", rest)
        head = f"{WORDS[known]}, number {number}" if number else WORDS[known]
        return f"{head}: {_plain(rest.removeprefix('.'))}" if rest else head
    table, _, rest = place.partition(".")
    return f"{_TABLES.get(table, f'{table}: ')}{_plain(rest)}"


def _plain(path: str) -> str:
    """Return the rest of a place, `curve[1].intake_flow`, in words."""
    return re.sub(r"\[(\d+)\]", r" \1", path).replace(".", ", ").replace("_", " ")


def _said(key: str, number: str | None = None) -> str:
    words = f"{WORDS[key]}, number {number}" if number else WORDS[key]
    return words if key in _ON_FORM else f"{words} ({_FILE_ONLY}{key})"
