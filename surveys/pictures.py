"""Photographs from cameras made safe to keep: opened, made smaller, and written anew as plain pixels.

Whatever else the camera wrote into the file (the place, the time, its owner) is not carried over.
"""

import io
import warnings
from typing import Final

from PIL import Image, ImageOps

from surveys.said import said

LARGEST_FILE: Final = 15 * 1024 * 1024
MOST_PIXELS: Final = 50_000_000
LONGEST_SIDE: Final = 2_000
PHOTO_TYPE: Final = "image/jpeg"
_READ: Final = ("JPEG", "PNG", "WEBP")
_QUALITY: Final = 85


class NotAPicture(ValueError):  # noqa: N818 - an answer to the person
    """A file that is not kept; the message says why and what to do."""


def plain_picture(content: bytes) -> bytes:
    """The picture as a JPEG of at most 2000 pixels a side, upright, without anything but its pixels.

    Raises
    ------
    NotAPicture : too large, too many pixels, or not a JPEG, PNG or WebP picture that can be read whole
    """
    if len(content) > LARGEST_FILE:
        raise NotAPicture(
            said("The file is larger than {n} MB. Send a smaller photograph.", n=LARGEST_FILE // 1024**2)
        )
    try:
        with warnings.catch_warnings():
            # The number of pixels is looked at here, before any of them is unpacked.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=_READ) as opened:
                width, height = opened.size
                if width * height > MOST_PIXELS:
                    raise NotAPicture(said("The photograph has too many pixels. Send a smaller one."))
                # A large photograph is read at a part of its size where its format allows that.
                opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                upright = ImageOps.exif_transpose(opened)
                upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
                return _only_pixels(upright)
    except NotAPicture:
        raise
    except (OSError, ValueError, SyntaxError, EOFError, Image.DecompressionBombError):
        raise NotAPicture(
            said("The file is not a photograph that can be read here. Send a JPEG, PNG or WebP picture.")
        ) from None


def _only_pixels(picture: Image.Image) -> bytes:
    """Laid onto a fresh white sheet, so that neither notes nor profiles of the camera come along."""
    fresh = Image.new("RGB", picture.size, "white")
    if "A" in picture.getbands() or "transparency" in picture.info:
        layered = picture.convert("RGBA")
        fresh.paste(layered, mask=layered)
    else:
        fresh.paste(picture.convert("RGB"))
    out = io.BytesIO()
    fresh.save(out, "JPEG", quality=_QUALITY, optimize=True)
    return out.getvalue()
