"""What the capture API takes and gives."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from plumeline.files.field_items import SHA256, Ident
from plumeline.store.captures import Receipt, Received
from plumeline.store.photos import Upload

MOST_IDS = 500


class HeldRow(BaseModel):
    """That an item is held."""

    id: str
    sha256: str = Field(description="SHA-256 of the bytes that are held")
    server_at: datetime
    sequence: int = Field(description="its place in the order in which items came")
    state: str = Field(description="new, taken, conflict or set aside")


class UploadRow(BaseModel):
    """How much of a photo is there."""

    sha256: str
    have: list[int] = Field(
        description="numbers of the parts that are there, from 0; empty once the whole is held"
    )
    held: bool
    refused: str | None = Field(default=None, description="why it can't be taken; it need not be sent again")


class RefusedPhoto(BaseModel):
    """A photo that can't be taken, and why."""

    sha256: str
    words: str


class ReceiptRow(BaseModel):
    """What is held of an item; several of one id where it came with different contents."""

    id: str
    sha256: str | None
    held: bool = Field(description="the item and all of its photos")
    state: str = Field(description="new, taken, conflict, set aside, or unknown")
    missing_photos: list[str]
    refused_photos: list[RefusedPhoto]


class Asked(BaseModel):
    """What a phone asks receipts for, and what it tells of itself."""

    model_config = ConfigDict(allow_inf_nan=False)

    device_id: Ident
    unsent_count: int = Field(ge=0, le=10**9)
    oldest_unsent_at: AwareDatetime | None = None
    ids: list[Annotated[str, Field(max_length=100)]] = Field(max_length=MOST_IDS)
    device_time: AwareDatetime | None = Field(default=None, description="the phone's clock now")
    device_name: Annotated[str, Field(max_length=60)] | None = None


class Receipts(BaseModel):
    """Receipts, in the order asked for."""

    server_time: datetime
    receipts: list[ReceiptRow]


class WholePhoto(BaseModel):
    """A photo of a file that is imported."""

    sha256: Annotated[str, Field(pattern=SHA256)]
    type: Annotated[str, Field(max_length=100)] = ""
    base64: str


class Imported(BaseModel):
    """A file that a phone or a field sheet wrote."""

    format: int = Field(ge=1, le=1)
    items: list[str] = Field(max_length=10_000, description="the exact JSON text of each item")
    photos: list[WholePhoto] = Field(default=[], max_length=1000)


class RefusedItem(BaseModel):
    """An item of an imported file that can't be read."""

    index: int
    id: str | None
    words: str


class Taken(Receipts):
    """What is held of an imported file, and what could not be read."""

    refused: list[RefusedItem]
    refused_photos: list[RefusedPhoto]


class PlaceRow(BaseModel):
    """A place on the earth (WGS 84)."""

    latitude_deg: float
    longitude_deg: float


class StationRow(PlaceRow):
    """A place in a pond with a name."""

    name: str


class PondPlaceRow(BaseModel):
    """A pond as a phone takes it along."""

    id: str
    name: str
    number: int = Field(description="its latest revision")
    position: PlaceRow
    stations: list[StationRow]
    max_depth_m: float | None


class PondPlaces(BaseModel):
    """The ponds that a phone takes along, and until when it may keep them."""

    server_time: datetime
    expires_at: datetime
    ponds: list[PondPlaceRow]


def held_row(found: Received) -> dict[str, Any]:
    """Return that an item is held, as JSON."""
    return HeldRow(
        id=found.id, sha256=found.sha256, server_at=found.server_at, sequence=found.sequence_number, state=found.state,
    ).model_dump(mode="json")  # fmt: skip


def upload_row(found: Upload) -> UploadRow:
    """Return how much of a photo is there."""
    return UploadRow(
        sha256=found.sha256, have=list(found.have), held=found.held, refused=found.refused or None
    )


def receipt_row(found: Receipt) -> ReceiptRow:
    """Return what is held of an item."""
    return ReceiptRow(
        id=found.id,
        sha256=found.sha256,
        held=found.held,
        state=found.state,
        missing_photos=list(found.missing_photos),
        refused_photos=[RefusedPhoto(sha256=one.sha256, words=one.words) for one in found.refused_photos],
    )
