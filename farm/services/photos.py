"""Pictures that belong to a mark: whatever was sent is drawn anew as a small JPEG that says nothing of the phone."""

from __future__ import annotations

from io import BytesIO

from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from farm.errors import BadInput
from farm.models import ChoreMark, MarkPhoto
from farm.services.actor import Actor

# All limits: project default (judgement).
MOST_BYTES = 8 * 1024 * 1024  # of what is sent
LONGEST_SIDE = 1600  # pixels
LARGEST_JPEG = 400_000  # bytes
MOST_PIXELS = {"JPEG": 52_000_000, "PNG": 25_000_000, "WEBP": 25_000_000}  # a JPEG is read at a smaller size
_BOMBS = (Image.DecompressionBombError, Image.DecompressionBombWarning)
QUALITIES = (82, 70, 58, 46, 34)


def small_jpeg(sent: bytes) -> bytes:
    """Return the picture as a JPEG of at most LONGEST_SIDE pixels and LARGEST_JPEG bytes, upright and without its
    metadata. Raises BadInput at "photo" for anything that is no picture or too large."""
    if len(sent) > MOST_BYTES:
        raise BadInput.at("photo", _("The picture is too large: at most %(most)d MB.") % {"most": 8})
    try:
        return _encoded(_read(sent))
    except (OSError, ValueError, SyntaxError, EOFError, *_BOMBS) as unreadable:
        text = _("This file is no picture that can be read. Use a JPEG, PNG or WebP.")
        raise BadInput.at("photo", text) from unreadable


def keep(by: Actor, mark: ChoreMark, jpeg: bytes) -> bool:
    """Keep a picture of a mark, inside an open transaction; False when the mark has one already, which stays."""
    if MarkPhoto.objects.filter(mark=mark).exists():
        return False
    MarkPhoto.objects.create(farm_id=by.farm_id, mark=mark, jpeg=jpeg, at=by.now)
    return True


def _read(sent: bytes) -> Image.Image:
    with Image.open(BytesIO(sent), formats=tuple(MOST_PIXELS)) as opened:
        # The size stands in the first bytes: judged before anything is unpacked.
        if opened.width * opened.height > MOST_PIXELS[str(opened.format)]:
            raise BadInput.at("photo", _("The picture has too many pixels. Take it with a smaller setting."))
        opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(opened)
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        # On a sheet of its own: nothing but pixels comes along.
        sheet = Image.new("RGB", upright.size, "white")
        if upright.mode in ("RGBA", "LA", "PA") or "transparency" in upright.info:
            upright = upright.convert("RGBA")
            sheet.paste(upright, mask=upright.getchannel("A"))
        else:
            sheet.paste(upright.convert("RGB"))
        return sheet


def _encoded(sheet: Image.Image) -> bytes:
    while True:
        for quality in QUALITIES:
            out = BytesIO()
            sheet.save(out, "JPEG", quality=quality, optimize=True)
            if out.tell() <= LARGEST_JPEG:
                return out.getvalue()
        sheet = sheet.resize((max(1, sheet.width * 3 // 4), max(1, sheet.height * 3 // 4)))
