"""Keeps pictures under the home folder by content hash: turned upright, resized, stripped of where and when."""

import hashlib
import io
import os
import uuid
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from coatround.core.checking import Refused
from coatround.ids import uuid7
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.records.models import Dog, Household
from coatround.web.visits.models import Photo, Visit

MOST_BYTES = 25 * 1024 * 1024
MOST_PIXELS = 80_000_000
LONGEST_SIDE = 2048
QUALITY = 84
FORMATS = ("JPEG", "PNG", "WEBP", "GIF")


def keep_photo(
    upload: "UploadedFile[Any]",
    who: Worker,
    *,
    photo_id: uuid.UUID | None = None,
    visit: Visit | None = None,
    dog: Dog | None = None,
    belongs_to: uuid.UUID | None = None,
    words: str = "",
) -> tuple[Photo, bool]:
    """Keeps one picture and says whether it is new; the same id again changes nothing. Raises Refused in words."""
    there = Photo.objects.filter(pk=photo_id).first() if photo_id else None
    if there is not None:
        return there, False
    household = visit.household if visit else dog.household if dog else None
    if household is not None and not photos_wanted(household):
        raise Refused(
            "photos-not-wanted", _("%(name)s said that no photos are kept. Nothing was kept.") % {"name": household}
        )
    picture = picture_of(upload)
    content = as_jpeg(picture)
    digest = hashlib.sha256(content).hexdigest()
    write_once(photo_path(digest), content)
    with writing():
        return Photo.objects.get_or_create(
            id=photo_id or uuid7(),
            defaults={
                "sha256": digest,
                "bytes": len(content),
                "width": picture.width,
                "height": picture.height,
                "household": household,
                "dog": dog,
                "visit": visit.pk if visit else None,
                "belongs_to": belongs_to,
                "words": words[:160],
                "who": who,
            },
        )


def photos_wanted(household: Household) -> bool:
    """Whether photos may be kept: yes, unless the household's last word on it is no."""
    last = household.consents.filter(kind="photos kept").order_by("-at", "-id").first()
    return last is None or last.agreed


def picture_of(upload: "UploadedFile[Any]") -> Image.Image:
    """The picture in an upload, upright, in three colours, its longest side at most 2048 pixels."""
    if (upload.size or 0) > MOST_BYTES:
        raise Refused(
            "photo-too-big",
            _("The photo has %(size)d MB; at most %(most)d MB can be kept. Take it again at a smaller size.")
            % {"size": (upload.size or 0) // 1_048_576, "most": MOST_BYTES // 1_048_576},
        )
    try:
        with Image.open(upload, formats=FORMATS) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise Refused("photo-too-big", _("The photo has too many pixels. Take it again at a smaller size."))
            upright = ImageOps.exif_transpose(opened)
            picture = _on_paper(upright)
    except Refused:
        raise
    except Exception as error:  # a broken file makes the decoders raise many kinds
        raise Refused(
            "not-a-photo",
            _("%(name)s can't be read as a photo; expected JPEG, PNG or WebP. Take it anew, or save it as JPEG.")
            % {"name": (upload.name or _("The file"))[:60]},
        ) from error
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    return picture


def _on_paper(picture: Image.Image) -> Image.Image:
    """Without what shows through: a clear background becomes white."""
    if picture.mode in ("RGBA", "LA", "PA", "P"):
        clear = picture.convert("RGBA")
        paper = Image.new("RGBA", clear.size, "white")
        paper.alpha_composite(clear)
        picture = paper
    return picture.convert("RGB")


def as_jpeg(picture: Image.Image) -> bytes:
    """The picture alone: drawn again pixel by pixel, so that nothing of the file it came in is kept."""
    bare = Image.new("RGB", picture.size)
    bare.paste(picture)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()


def photo_path(digest: str) -> Path:
    folder: Any = settings.HOME
    return Path(folder) / "photos" / digest[:2] / f"{digest}.jpg"


def write_once(path: Path, content: bytes) -> None:
    """Writes a file that is whole or not there at all; one that is there is the same by its name, and is left alone."""
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    part = path.with_name(f".{path.name}.{uuid7()}")
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
