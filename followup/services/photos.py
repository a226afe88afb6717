"""Photos of a wound: decoded, turned upright, made smaller, written anew without where and when they were taken.

The words of a reply are stored before any photo. A file that cannot be read is kept aside, and a person rings.
"""

from __future__ import annotations

import datetime as dt
import logging
import secrets
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import pi_heif
from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from followup.domain.terms import FollowUpError
from followup.models import Photo, Plan, Reply, Task
from followup.services.log import log
from followup.services.photo_flaws import is_blurred, is_dark

logger = logging.getLogger(__name__)
pi_heif.register_heif_opener()

MOST_BYTES = 25 * 1024 * 1024
"""Above the largest photo of today's phones, with room."""
MOST_PIXELS = 50_000_000
"""Checked before decoding: a small file may unfold into memory that we do not have. A JPEG is made smaller by that."""
LONGEST_SIDE = 1600
QUALITY = 82
"""1600 pixels at JPEG quality 82 keep stitches legible in about 300 kB."""
MOST_AN_HOUR = 12
"""Of one plan. More are refused with a sentence; words are never refused."""
QUARANTINE = "unreadable"


class TooLarge(FollowUpError):
    """The photo is larger than we take."""


class TooMany(FollowUpError):
    """So many photos came within an hour that no more are taken."""


@dataclass(frozen=True)
class Upload:
    """One file as it came. `client_id` is made where it was chosen: the same one counts once."""

    client_id: str
    file: IO[bytes]
    size: int


def keep_photo(plan: Plan, upload: Upload, *, reply: Reply | None, now: dt.datetime) -> Photo:
    """Store one photo. Raises TooLarge or TooMany, in words for the owner; anything unreadable is kept aside."""
    known = Photo.objects.filter(practice_id=plan.practice_id, client_id=upload.client_id).first()
    if known is not None:
        return known
    _refuse(plan, upload, now=now)
    try:
        picture = _upright(upload.file)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        logger.warning("plan %s: a photo could not be read", plan.pk)
        return _keep_aside(plan, upload, reply=reply, now=now)
    name = f"{secrets.token_hex(16)}.jpg"
    with _private(Path(settings.MEDIA_ROOT) / name) as out:
        picture.save(out, "JPEG", quality=QUALITY, optimize=True)
    seen = {"width": picture.width, "height": picture.height, "flaw": _flaw(picture)}
    return _record(plan, upload, reply, now=now, file=name, state=Photo.State.SHOWN, **seen)


def open_photo(photo: Photo) -> IO[bytes]:
    """The file of a photo that can be shown."""
    return (Path(settings.MEDIA_ROOT) / photo.file).open("rb")


def _refuse(plan: Plan, upload: Upload, *, now: dt.datetime) -> None:
    if upload.size > MOST_BYTES:
        raise TooLarge(
            _("This photo has %(size)d MB; we can take up to %(most)d MB. Your words are safe. ")
            % {"size": upload.size // 1024**2, "most": MOST_BYTES // 1024**2}
            + _("Take it again at a smaller size, or phone us."),
            field="photo",
        )
    if plan.photos.filter(received_at__gt=now - dt.timedelta(hours=1)).count() >= MOST_AN_HOUR:
        raise TooMany(
            _("We have many photos of the last hour already. Your words still reach us; please phone."), field="photo"
        )


def _flaw(picture: Image.Image) -> str:
    if is_dark(picture):
        return Photo.Flaw.DARK
    return Photo.Flaw.BLURRED if is_blurred(picture) else ""


def _upright(file: IO[bytes]) -> Image.Image:
    """The picture as it is looked at, at most 1600 pixels long, without anything that it carried along."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(file) as opened:
            opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is unfolded at a half, a quarter or an eighth
            if opened.width * opened.height > MOST_PIXELS:
                raise Image.DecompressionBombError
            picture = ImageOps.exif_transpose(opened)
            picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
            plain = picture.convert("RGB")
            plain.info.clear()
            return plain


def _keep_aside(plan: Plan, upload: Upload, *, reply: Reply | None, now: dt.datetime) -> Photo:
    name = f"{QUARANTINE}/{secrets.token_hex(16)}"
    upload.file.seek(0)
    with _private(Path(settings.MEDIA_ROOT) / name) as out:
        while chunk := upload.file.read(64 * 1024):
            out.write(chunk)
    photo = _record(plan, upload, reply, now=now, file=name, state=Photo.State.UNREADABLE)
    Task.objects.get_or_create(
        practice_id=plan.practice_id,
        key=f"photo:{photo.pk}",
        defaults={
            "plan": plan,
            "kind": Task.Kind.PHONE,
            "text": f"A photo of {plan.patient} could not be shown. Contact the owner.",
            "due_at": now,
            "made_at": now,
        },
    )
    return photo


def _private(path: Path) -> IO[bytes]:
    """A new file that only our own user can read."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    path.touch(mode=0o600, exist_ok=False)
    return path.open("wb")


@transaction.atomic
def _record(plan: Plan, upload: Upload, reply: Reply | None, *, now: dt.datetime, **about: object) -> Photo:
    photo, new = Photo.objects.get_or_create(
        practice_id=plan.practice_id,
        client_id=upload.client_id,
        defaults={"plan": plan, "reply": reply, "received_at": now, **about},
    )
    if new:
        log(plan, "photo", photo.get_state_display(), now=now, photo=photo.pk)
    return photo
