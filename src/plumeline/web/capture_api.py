"""Field capture over the API: phones hand over items and photos; nothing is acknowledged before it is on the disk."""

from __future__ import annotations

from datetime import timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from plumeline.files.field_items import MOST_ITEM_BYTES, SHA256, UUID
from plumeline.store.captures import Told
from plumeline.store.photos import PART_BYTES, PhotoSizeError, SpoiltPhotoError, Upload
from plumeline.web import capture_rows as rows
from plumeline.web.capture_import import bring_in, read_file
from plumeline.web.item_schema import ITEM, item_schema, whole_schema
from plumeline.web.pages import Here
from plumeline.web.problems import REFUSALS, problem
from plumeline.web.site import site_of

KEPT_ON_PHONE = timedelta(days=14)
"""How long a phone may keep what it took along of the ponds."""
MOST_PONDS = 5000
WITNESS = "plumeline_phone"
"""A cookie that page scripts read; it holds nothing but that a phone was here."""
WITNESS_S = 400 * 24 * 3600


def _says(*numbers: int) -> dict[int | str, dict[str, Any]]:
    words = {
        401: "nobody is signed in: everything stays on the phone",
        403: "sent by a page of another site",
        409: "the id is held with other bytes; both are kept, and need not be sent again",
        413: "larger than is taken",
        422: "it can't be read, or is not what it says; it stays on the phone",
        503: "the database can't be written, or the disk is full; try again later",
    }
    return {
        number: {**REFUSALS[number], "description": words[number]} for number in (401, 403, *numbers, 503)
    }


router = APIRouter(tags=["field capture"])
ItemId = Annotated[str, Path(pattern=UUID, description="UUID of the item, made on the phone")]
Sha = Annotated[str, Path(pattern=SHA256, description="SHA-256 of the photo's file on the phone")]
BODY = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": item_schema()}},
        "description": ITEM,
    }
}
BYTES = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@router.put(
    "/items/{item_id}",
    summary="Hand over an item",
    status_code=201,
    response_model=rows.HeldRow,
    responses={200: {"model": rows.HeldRow, "description": "it was held before"}, **_says(409, 413, 422)},
    openapi_extra=BODY,
)
async def put_item(request: Request, item_id: ItemId) -> Response:
    """Keep an item; the same bytes again change nothing, other bytes under its id are kept beside."""
    site = site_of(request)
    data = await request.body()
    if len(data) > MOST_ITEM_BYTES:
        words = (
            f"{len(data)} bytes are more than the {MOST_ITEM_BYTES // 1024} kB of one item; nothing was kept."
        )
        return problem(413, "Too large", words)
    found = await run_in_threadpool(site.store.captures.receive, data, item_id)
    if found.is_variant:
        words = "This id is held with other contents; both are kept, and somebody in the office picks."
        return problem(409, "Two of one id", words, **rows.held_row(found))
    return JSONResponse(rows.held_row(found), 201 if found.is_new else 200)


@router.put(
    "/photos/{sha256}/parts/{number}",
    summary="Hand over a part of a photo",
    response_model=rows.UploadRow,
    responses=_says(413, 422),
    openapi_extra=BYTES,
)
async def put_part(
    request: Request,
    sha256: Sha,
    number: Annotated[int, Path(ge=0, le=1000, description="from 0; each of 524288 bytes but the last")],
    size_bytes: Annotated[int, Query(ge=1, le=2**40, description="of the whole photo")],
) -> Response:
    """Keep a part; with the last one the whole is checked, decoded and written anew without place and time."""
    site = site_of(request)
    data = await request.body()
    if len(data) > PART_BYTES:
        return problem(413, "Too large", f"A part has {PART_BYTES} bytes at most; nothing was kept.")
    try:
        found = await run_in_threadpool(site.store.photos.put_part, sha256, number, size_bytes, data)
    except PhotoSizeError as error:
        return problem(413, "Too large", str(error))
    except SpoiltPhotoError as error:
        return problem(422, "Not that photo", str(error), refused=None)
    return _uploaded(found)


def _uploaded(found: Upload) -> Response:
    if found.refused:
        words = f"The photo can't be taken: {found.refused}"
        return problem(422, "Photo refused", words, refused=found.refused, sha256=found.sha256)
    return JSONResponse(rows.upload_row(found).model_dump(mode="json"))


@router.get("/photos/{sha256}", summary="How much of a photo is there", responses=_says(422))
def photo(site: Here, sha256: Sha) -> rows.UploadRow:
    """Return which parts of a photo are there; none of one that is unknown."""
    return rows.upload_row(site.store.photos.status(sha256))


@router.post("/receipts", summary="What is held", responses=_says(413, 422))
def receipts(site: Here, request: Request, response: Response, asked: rows.Asked) -> rows.Receipts:
    """Return what is held of items, and keep what the phone tells of what it has not handed over yet."""
    # a witness beside the phone's own storage: where that is cleared and this is not, the page says so
    response.set_cookie(
        WITNESS, "yes", max_age=WITNESS_S, path="/capture", samesite="strict",
        secure=request.url.scheme == "https",
    )  # fmt: skip
    now = site.store.clock()
    skew_s = None if asked.device_time is None else (now - asked.device_time).total_seconds()
    told = Told(asked.device_id, asked.device_name, asked.unsent_count, asked.oldest_unsent_at, skew_s)
    site.store.captures.heard(told)
    found = site.store.captures.receipts(asked.ids)
    return rows.Receipts(server_time=now, receipts=[rows.receipt_row(one) for one in found])


@router.get("/ponds", summary="The ponds that a phone takes along", responses=_says())
def ponds(site: Here) -> rows.PondPlaces:
    """List ponds with their places to read; without prices, owners and addresses."""
    now = site.store.clock()
    found = [
        rows.PondPlaceRow(
            id=one.id,
            name=one.name,
            number=one.number,
            position=rows.PlaceRow(**one.place.model_dump()),
            stations=[rows.StationRow(name=s.name, **s.place.model_dump()) for s in one.stations],
            max_depth_m=one.max_depth_m,
        )
        for one in site.pond_places.all(MOST_PONDS)
    ]
    return rows.PondPlaces(server_time=now, expires_at=now + KEPT_ON_PHONE, ponds=found)


@router.post(
    "/import",
    summary="Hand over a file of items and photos",
    response_model=rows.Taken,
    responses=_says(413, 422),
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": whole_schema(rows.Imported)}},
        }
    },
)
async def import_file(request: Request) -> rows.Taken:
    """Keep each item and photo of a file by itself; what can't be read is told and stops nothing else."""
    site = site_of(request)
    data = await request.body()

    def keep() -> rows.Taken:
        brought = bring_in(site.store, read_file(data))
        return rows.Taken(
            server_time=site.store.clock(),
            receipts=[rows.receipt_row(one) for one in brought.receipts],
            refused=brought.refused,
            refused_photos=brought.refused_photos,
        )

    return await run_in_threadpool(keep)
