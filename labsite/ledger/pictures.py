"""Photos as they may be shown: upright, no larger than needed, without position or other hidden data."""

import io
import warnings
from dataclasses import dataclass

from PIL import Image, ImageOps, UnidentifiedImageError

from labsite.ledger.refusals import Refused

LARGEST_FILE_BYTES = 20 * 1024 * 1024
LARGEST_PIXELS = 60_000_000
SHOWN_EDGE_PIXELS = 1600


@dataclass(frozen=True, slots=True)
class ShownPicture:
    """A picture fit for a page or a certificate."""

    content: bytes
    media_type: str
    width_px: int
    height_px: int


def shown_picture(content: bytes, *, name: str) -> ShownPicture:
    """Make the copy that leaves the store from an uploaded JPEG, PNG or WebP; the original is kept elsewhere.

    Refused with a sentence: larger than the limits (read from the header, before decoding), not a picture, cut off.
    """
    if len(content) > LARGEST_FILE_BYTES:
        raise Refused(f"“{name}” is larger than {LARGEST_FILE_BYTES // 1024**2} MB. Choose a smaller picture.")
    if content[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypheif", b"ftyphevc"):
        raise Refused(f"“{name}” is a HEIC picture whatever its name says. Export it as JPEG and choose that.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # our own, smaller limit follows
            picture = Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP"))
    except Image.DecompressionBombError:
        raise Refused(
            f"“{name}” has far more than {LARGEST_PIXELS // 1_000_000} million pixels. Choose a smaller picture."
        ) from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError):
        raise Refused(f"“{name}” is not a JPEG, PNG or WebP picture that can be read. Choose another file.") from None
    if picture.width * picture.height > LARGEST_PIXELS:
        raise Refused(
            f"“{name}” has {picture.width} x {picture.height} pixels; "
            f"up to {LARGEST_PIXELS // 1_000_000} million are taken."
        )
    try:
        return _encoded(ImageOps.exif_transpose(picture))
    except (OSError, SyntaxError, ValueError):
        raise Refused(f"“{name}” is damaged: the picture stops before its end. Choose another file.") from None


def _encoded(upright: Image.Image) -> ShownPicture:
    upright.thumbnail((SHOWN_EDGE_PIXELS, SHOWN_EDGE_PIXELS))
    see_through = upright.mode in ("RGBA", "LA", "P")
    clean = Image.new("RGBA" if see_through else "RGB", upright.size)
    clean.paste(upright.convert(clean.mode))
    out = io.BytesIO()
    if see_through:
        clean.save(out, "PNG", optimize=True)
    else:
        clean.save(out, "JPEG", quality=85, optimize=True)
    return ShownPicture(out.getvalue(), "image/png" if see_through else "image/jpeg", *clean.size)
