"""Middleware: text that reaches us holds no NUL, which no database can store and no keyboard types."""

from __future__ import annotations

from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse, QueryDict

NUL = "\0"


def without_nul(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Leave NUL out of what was typed, so that the rest of it is kept; an address that holds one is nobody's."""

    def middleware(request: HttpRequest) -> HttpResponse:
        if NUL in request.path_info:
            raise Http404
        request.GET = _cleaned(request.GET)  # type: ignore[assignment]
        if request.method == "POST":
            request.POST = _cleaned(request.POST)  # type: ignore[assignment]
        return get_response(request)

    return middleware


def _cleaned(typed: QueryDict) -> QueryDict:
    if not any(NUL in word for pair in typed.lists() for word in (pair[0], *pair[1])):
        return typed
    clean = QueryDict(mutable=True)
    for name, values in typed.lists():
        clean.setlist(name.replace(NUL, ""), [value.replace(NUL, "") for value in values])
    clean._mutable = False  # noqa: SLF001 - as Django leaves what it parsed itself
    return clean
