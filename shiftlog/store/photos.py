"""Photos of a job: decoded and written anew without what a camera adds (place, time, owner), kept by fingerprint."""

import hashlib
import io
import os
import struct
import tempfile
import warnings
from pathlib import Path

from PIL import Image, ImageOps

from shiftlog.errors import StoreError
from shiftlog.model.job import Photo

MOST_PIXELS, MOST_BYTES = 50_000_000, 25_000_000
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", "BMP", "GIF")
QUALITY = 88
"""A JPEG quality at which brass flakes on a magnet stay crisp."""
PREVIEW_PX = 1200
_UNREADABLE = (OSError, ValueError, SyntaxError, EOFError, struct.error, Image.DecompressionBombError)


def keep_photo(folder: Path, data: bytes, *, name: str, of: str, caption: str = "") -> Photo:
    """Write a photo into the workshop's folder and return what the job holds of it. StoreError, one line."""
    picture = _decode(data, name)
    clean = _jpeg(picture)
    mark = hashlib.sha256(clean).hexdigest()
    try:
        photo = Photo(sha256=mark, of=of, caption=caption.strip(), width=picture.width, height=picture.height)
    except ValueError as error:
        raise StoreError(f"{name}: {error}") from error
    _write(folder / f"{mark}.jpg", clean)
    return photo


def read_photo_file(path: Path) -> bytes:
    """The bytes of a file that may be a photo, not more than are allowed. StoreError."""
    try:
        size = path.stat().st_size
        _check_size(size, path.name)
        return path.read_bytes()
    except OSError as error:
        raise StoreError(f"{path}: cannot be read ({error.strerror or error}); name a photo") from error


def photo_bytes(folder: Path, sha256: str) -> bytes | None:
    """A kept photo; None where it is gone, or is not what it was when it was kept."""
    if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
        return None
    try:
        data = (folder / f"{sha256}.jpg").read_bytes()
    except OSError:
        return None
    return data if hashlib.sha256(data).hexdigest() == sha256 else None


def shrink_photo(data: bytes, *, longest_px: int = PREVIEW_PX) -> bytes:
    """A kept photo no longer than ``longest_px`` on its longer side."""
    picture = Image.open(io.BytesIO(data))
    picture.thumbnail((longest_px, longest_px))
    return _jpeg(picture)


def _check_size(size: int, name: str) -> None:
    if size > MOST_BYTES:
        most = MOST_BYTES / 1e6
        raise StoreError(f"{name}: has {size / 1e6:.0f} MB; a photo may have {most:.0f} MB, make it smaller")


def _decode(data: bytes, name: str) -> Image.Image:
    _check_size(len(data), name)
    wrong = StoreError(f"{name}: is no photo that can be read; give a JPEG, PNG, WebP or TIFF")
    try:
        # Its own warning about large pictures comes from 89 MP on; the limit here is lower and told in one line.
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            picture = Image.open(io.BytesIO(data), formats=FORMATS)
    except Image.DecompressionBombError as error:
        raise StoreError(f"{name}: has too many pixels; {MOST_PIXELS / 1e6:.0f} MP are the most") from error
    except _UNREADABLE as error:
        raise wrong from error
    pixels = picture.width * picture.height
    if pixels > MOST_PIXELS:
        raise StoreError(f"{name}: has {pixels / 1e6:.0f} MP; {MOST_PIXELS / 1e6:.0f} MP are the most, make it smaller")
    try:
        picture.load()
        return _plain(picture)
    except (*_UNREADABLE, MemoryError) as error:
        raise wrong from error


def _plain(picture: Image.Image) -> Image.Image:
    """Upright, in red, green and blue, with nothing but its pixels."""
    upright = ImageOps.exif_transpose(picture)
    if upright.mode in ("RGBA", "LA", "PA") or "transparency" in upright.info:
        paper = Image.new("RGBA", upright.size, "white")
        upright = Image.alpha_composite(paper, upright.convert("RGBA"))
    bare = Image.new("RGB", upright.size)
    bare.paste(upright.convert("RGB"))
    return bare


def _jpeg(picture: Image.Image) -> bytes:
    written = io.BytesIO()
    picture.save(written, format="JPEG", quality=QUALITY)
    return written.getvalue()


def _write(path: Path, data: bytes) -> None:
    """Beside first, then into place; a photo that is there already is the same one."""
    if path.is_file() and path.read_bytes() == data:
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(dir=path.parent, suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.replace(beside, path)
    except OSError as error:
        raise StoreError(f"{path.parent}: cannot be written ({error.strerror or error}); make room there") from error
