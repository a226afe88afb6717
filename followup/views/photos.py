"""A photo, for staff of its own practice."""

from __future__ import annotations

from csp.constants import UNSAFE_INLINE
from csp.decorators import csp_update
from django.http import FileResponse, HttpRequest
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from clinic.access import member
from followup.models import Photo
from followup.services.photos import open_photo


# The browser makes a page of its own round a picture, with a style in it; nothing of ours stands there.
@require_safe
@csp_update({"style-src": [UNSAFE_INLINE]})  # type: ignore[arg-type]  # typed for views without a number in the address
def photo(request: HttpRequest, pk: int) -> FileResponse:
    """The picture as we wrote it anew; never the file that came in."""
    found = get_object_or_404(Photo, pk=pk, practice=member(request).practice, state=Photo.State.SHOWN)
    response = FileResponse(open_photo(found), content_type="image/jpeg")
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = "inline"
    response["Cache-Control"] = "private, no-store"
    return response
