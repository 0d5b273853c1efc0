"""Photos from a phone: decoded and written anew, so that nothing but the picture itself is ever handed out."""

from __future__ import annotations

import io
import re
import threading
import warnings
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from plumeline.errors import InputError

KINDS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS_COUNT = 50_000_000
QUALITY = 88
PREVIEW_PX = 640
PLAN_PX = 4096
"""A photo under a plan needs no more; a phone could not hold it."""
KIND = "image/jpeg"
_ONE = threading.Lock()
"""One picture at a time: 50 megapixels are 150 MB once they are unpacked."""


@dataclass(frozen=True)
class Picture:
    """A picture written anew as JPEG, without anything that its file carried beside it.

    Attributes:
        data: the JPEG file.
        width_px: width.
        height_px: height.
        taken_at: when, as the camera wrote it (with its offset where it wrote one); empty without.
        latitude_deg: where, as the camera wrote it; None without.
        longitude_deg: where.
    """

    data: bytes
    width_px: int
    height_px: int
    taken_at: str = ""
    latitude_deg: float | None = None
    longitude_deg: float | None = None


def written_anew(data: bytes) -> Picture:
    """Return the picture that a file holds.

    Its turn is taken from the file's own words; those words, colour profiles, further pictures and whatever else the
    file holds are left out. When and where it was taken come as values: the caller decides whether they stay.

    Args:
        data: the file; nothing that it says of itself is believed.

    Raises:
        InputError: it is no picture of a kind that is read, it is damaged, or it is too large.
    """
    with _ONE, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # odd metadata: it is dropped anyway
        try:
            with Image.open(io.BytesIO(data), formats=KINDS) as found:
                width, height = found.size
                if width * height > MOST_PIXELS_COUNT:
                    raise _too_many(width, height)
                taken_at, place = _told(found)
                turned = ImageOps.exif_transpose(found)
                return _written(turned, taken_at, place)
        except InputError:
            raise
        except UnidentifiedImageError as error:
            raise InputError(
                "this is no picture of a kind that is read.",
                remedy="JPEG, PNG and WebP are; set the camera to JPEG.",
            ) from error
        except Image.DecompressionBombError as error:
            raise _too_many(0, 0) from error
        except Exception as error:  # a decoder may raise anything on what nobody trusts
            raise InputError(
                f"the picture is damaged and can't be read ({type(error).__name__}).",
                remedy="Take or choose another.",
            ) from error


def _too_many(width_px: int, height_px: int) -> InputError:
    size = f"{width_px} by {height_px} pixels are" if width_px else "it is"
    return InputError(
        f"{size} more than the {MOST_PIXELS_COUNT // 10**6} megapixels that are taken.",
        remedy="Take it again at a smaller size.",
    )


def _written(found: Image.Image, taken_at: str, place: tuple[float, float] | None) -> Picture:
    flat = found
    if found.mode in ("RGBA", "LA", "PA") or "transparency" in found.info:
        clear = found.convert("RGBA")
        flat = Image.new("RGB", clear.size, "white")
        flat.paste(clear, mask=clear.getchannel("A"))
    elif found.mode != "RGB":
        flat = found.convert("RGB")
    # a bare image: what a file carried along (comment, profile, EXIF) hangs on the object that was opened
    bare = Image.frombytes("RGB", flat.size, flat.tobytes())
    stream = io.BytesIO()
    bare.save(stream, "JPEG", quality=QUALITY)
    lat, lon = place if place else (None, None)
    return Picture(stream.getvalue(), bare.width, bare.height, taken_at, lat, lon)


def preview(data: bytes) -> bytes:
    """Return a small JPEG of a picture that ``written_anew`` made.

    Args:
        data: its JPEG.
    """
    with _ONE, Image.open(io.BytesIO(data), formats=("JPEG",)) as found:
        found.draft("RGB", (PREVIEW_PX, PREVIEW_PX))
        found.thumbnail((PREVIEW_PX, PREVIEW_PX))
        stream = io.BytesIO()
        found.save(stream, "JPEG", quality=80)
    return stream.getvalue()


def shrunk(data: bytes, most_px: int = PLAN_PX) -> tuple[bytes, int, int]:
    """Return a picture that ``written_anew`` made with no side longer than a limit, and its width and height.

    Args:
        data: its JPEG.
        most_px: of the longer side.
    """
    with _ONE, Image.open(io.BytesIO(data), formats=("JPEG",)) as found:
        if max(found.size) <= most_px:
            return data, *found.size
        found.thumbnail((most_px, most_px))
        stream = io.BytesIO()
        found.save(stream, "JPEG", quality=QUALITY)
        return stream.getvalue(), *found.size


def _told(found: Image.Image) -> tuple[str, tuple[float, float] | None]:
    """Return when and where a picture says that it was taken; nothing of it is needed."""
    try:
        words = found.getexif()
        detail = words.get_ifd(ExifTags.IFD.Exif)
        where = words.get_ifd(ExifTags.IFD.GPSInfo)
        return _time(detail), _place(where)
    except Exception:  # damaged words beside a sound picture
        return "", None


def _time(detail: Any) -> str:
    text = str(detail.get(ExifTags.Base.DateTimeOriginal, ""))
    found = re.fullmatch(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)", text.strip("\0 "))
    if not found:
        return ""
    stamp = f"{found[1]}-{found[2]}-{found[3]}T{found[4]}"
    offset = str(detail.get(ExifTags.Base.OffsetTimeOriginal, "")).strip("\0 ")
    if re.fullmatch(r"[+-]\d\d:\d\d", offset):
        stamp += offset
    try:
        return datetime.fromisoformat(stamp).isoformat()
    except ValueError:
        return ""


def _place(where: Any) -> tuple[float, float] | None:
    try:
        lat = _degrees(where[ExifTags.GPS.GPSLatitude], where[ExifTags.GPS.GPSLatitudeRef], "S")
        lon = _degrees(where[ExifTags.GPS.GPSLongitude], where[ExifTags.GPS.GPSLongitudeRef], "W")
    except (KeyError, ValueError, TypeError, ZeroDivisionError):
        return None
    return (lat, lon) if abs(lat) <= 90.0 and abs(lon) <= 180.0 else None


def _degrees(parts: Any, side: Any, negative: str) -> float:
    whole, minutes, seconds = (float(part) for part in parts)
    size = whole + minutes / 60.0 + seconds / 3600.0
    return round(-size if str(side).strip("\0 ").upper() == negative else size, 7)
