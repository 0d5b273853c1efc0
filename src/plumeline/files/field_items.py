"""What a phone made on the bank: one JSON text an item, read strictly and kept to the byte elsewhere."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    model_validator,
)  # fmt: skip

from plumeline.errors import Fault, JobFolderError

FORMAT: Literal[1] = 1
MOST_ITEM_BYTES = 256 * 1024
MOST_PHOTO_BYTES = 20 * 1024 * 1024
UUID = r"^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
SHA256 = r"^[0-9a-f]{64}$"
MOST_FAULTS = 20

Ident = Annotated[str, Field(pattern=UUID, description="UUID in small letters")]
Typed = Annotated[
    str, Field(max_length=200, description="a number as it was typed, with or without its unit")
]


def _whole(value: Any) -> Any:
    # to JSON 5.0 is the integer 5
    return int(value) if isinstance(value, float) and value.is_integer() else value


Whole = Annotated[int, BeforeValidator(_whole)]
Kind = Literal["profile", "gauge", "sounding", "shore", "note", "photo"]


class Part(BaseModel):
    """Base of all parts of an item: frozen; what a later version adds is let by."""

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False, strict=True)


class Position(Part):
    """A place by satellite or typed."""

    latitude_deg: float = Field(ge=-90.0, le=90.0)
    longitude_deg: float = Field(ge=-180.0, le=180.0)
    accuracy_m: float | None = Field(default=None, ge=0.0, le=1e8)
    how: Literal["gps", "typed"]


class ProfileRow(Part):
    """One depth of a profile, as typed."""

    depth: Typed
    temperature: Typed = ""
    oxygen: Typed = ""
    note: Annotated[str, Field(max_length=500)] = ""


class ProfileUnits(Part):
    """In which units bare numbers of a profile were typed."""

    depth: Literal["ft", "m"]
    temperature: Literal["degF", "degC"]
    oxygen: Literal["mg/L"] = "mg/L"


class ProfileBody(Part):
    """Temperature and oxygen by depth, and the Secchi depth."""

    place: Annotated[str, Field(max_length=200)] = ""
    secchi: Typed = ""
    rows: tuple[ProfileRow, ...] = Field(max_length=500)
    units: ProfileUnits
    position: Position | None = None


class GaugeBody(Part):
    """What a gauge of the air line showed."""

    what: Annotated[str, Field(max_length=200)]
    pressure: Typed
    unit: Literal["psig", "kPa", "bar"]
    flow: Typed | None = None
    flow_unit: Annotated[str, Field(max_length=40)] | None = None
    position: Position | None = None


class SoundingBody(Part):
    """The depth of the water at a place, of the muck under it, and what the staff gauge shows that day."""

    depth: Typed
    unit: Literal["ft", "m"]
    muck: Typed | None = None
    level: Typed | None = None
    position: Position | None = None


MOST_WALKED = 5000


class WalkedPlaces(Part):
    """The points of a walk in their order, a list for each number; what is not known of a typed one is null."""

    latitude_deg: tuple[Annotated[float, Field(ge=-90.0, le=90.0)], ...] = Field(
        min_length=3, max_length=MOST_WALKED
    )
    longitude_deg: tuple[Annotated[float, Field(ge=-180.0, le=180.0)], ...]
    accuracy_m: tuple[Annotated[float, Field(ge=0.0, le=1e8)] | None, ...]
    after_s: tuple[Annotated[float, Field(ge=-1e13, le=1e13)] | None, ...] = Field(
        description="since the first point by satellite"
    )

    @model_validator(mode="after")
    def _as_long(self) -> Self:
        counts = [len(self.longitude_deg), len(self.accuracy_m), len(self.after_s)]
        if any(count != len(self.latitude_deg) for count in counts):
            raise ValueError("the lists of a walk are not equally long")
        return self


class ShoreBody(Part):
    """The shore of the pond, or of an island in it, as it was walked."""

    what: Literal["shore", "island"] = "shore"
    places: WalkedPlaces
    remark: Annotated[str, Field(max_length=500)] = ""


class NoteBody(Part):
    """Words."""

    text: Annotated[str, Field(max_length=4000)]


class PhotoBody(Part):
    """Words to photos."""

    caption: Annotated[str, Field(max_length=500)] = ""
    position: Position | None = None


Body = ProfileBody | GaugeBody | SoundingBody | ShoreBody | NoteBody | PhotoBody
BODIES: dict[str, type[Part]] = {
    "profile": ProfileBody,
    "gauge": GaugeBody,
    "sounding": SoundingBody,
    "shore": ShoreBody,
    "note": NoteBody,
    "photo": PhotoBody,
}


class PhotoNamed(Part):
    """A photo of an item, by the SHA-256 of its file."""

    sha256: Annotated[str, Field(pattern=SHA256)]
    size_bytes: Whole = Field(ge=1, le=2**40)
    type: Annotated[str, Field(max_length=100)] = ""
    keep_place: bool = False


class FieldItem(Part):
    """One item as a phone made it; the JSON that is sent, byte by byte, is what its hash is taken of."""

    format: Annotated[Literal[1], BeforeValidator(_whole)]
    id: Ident
    device_id: Ident
    device_name: Annotated[str, Field(max_length=60)] = ""
    author: Annotated[str, Field(max_length=60)] = ""
    pond_id: Annotated[str, Field(max_length=100)] | None = None
    pond_name_typed: Annotated[str, Field(max_length=200)] | None = None
    kind: Kind
    made_at: AwareDatetime
    time_zone: Annotated[str, Field(max_length=64)] = ""
    gps_at: AwareDatetime | None = None
    clock_skew_s: float | None = Field(default=None, ge=-1e13, le=1e13)
    counter: Whole = Field(ge=0, le=2**53)
    supersedes: Ident | None = None
    base_number: Annotated[int, Field(ge=1, le=10**9), BeforeValidator(_whole)] | None = None
    body: dict[str, Any]
    photos: tuple[PhotoNamed, ...] = Field(default=(), max_length=50)

    @property
    def parsed(self) -> Body:
        """Return what the kind of the item holds."""
        found: Body = BODIES[self.kind].model_validate_json(_json(self.body))  # type: ignore[assignment]
        return found


def _json(body: dict[str, Any]) -> bytes:
    from pydantic_core import to_json

    return to_json(body)


def read_item(data: bytes, ident: str | None = None) -> FieldItem:
    """Return an item from the bytes that were sent.

    Args:
        data: the bytes.
        ident: the id under which they were sent, where there is one.

    Raises:
        JobFolderError: with every fault; the phone keeps what it sent.
    """
    if len(data) > MOST_ITEM_BYTES:
        words = f"{len(data)} bytes are more than the {MOST_ITEM_BYTES // 1024} kB of one item."
        raise _refused((Fault("item", "", words, "Make two of it."),))
    try:
        item = FieldItem.model_validate_json(data)
    except ValidationError as error:
        raise _refused(_faults(error)) from error
    try:
        item.parsed  # noqa: B018
    except ValidationError as error:
        raise _refused(_faults(error, "body.")) from error
    if ident is not None and item.id != ident:
        words = f"it names itself {item.id} and was sent as {ident[:80]!r}."
        raise _refused((Fault("item", "id", words, "Send it under its own id."),))
    return item


def _faults(error: ValidationError, before: str = "") -> tuple[Fault, ...]:
    return tuple(
        Fault("item", before + ".".join(map(str, item["loc"])), _ended(item["msg"]), "")
        for item in error.errors(include_input=False, include_url=False)[:MOST_FAULTS]
    )


def _ended(words: str) -> str:
    return words if words.endswith(".") else f"{words}."


def _refused(faults: tuple[Fault, ...]) -> JobFolderError:
    return JobFolderError(faults, "the item")


def local_time(time: datetime, zone_name: str, made_at: datetime) -> datetime:
    """Return a moment by the clock of the place: the item's time zone, else the offset it was made with.

    Args:
        time: the moment.
        zone_name: name of a time zone, believed where the time-zone data has it.
        made_at: what the device's clock said, with its offset.
    """
    from plumeline.files.times import known_zone

    zone = known_zone(zone_name) if zone_name else None
    return time.astimezone(zone or made_at.tzinfo)
