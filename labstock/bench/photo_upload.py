"""A photograph on its way in: held in memory only, never on disk, and dropped when it grows too large."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile, UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, StopUpload
from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from labstock.chemistry.errors import LabError
from labstock.labels.reading import MOST_BYTES, too_large

NO_PHOTO = "No photo was chosen. Tap the field and take one, or choose one you have."


class InMemory(FileUploadHandler):
    """Keeps one file in memory up to a size; what comes after that is not read."""

    def __init__(self, request: HttpRequest, most_bytes: int) -> None:
        super().__init__(request)
        self.most_bytes, self.is_too_large = most_bytes, False
        self._parts: list[bytes] = []
        self._size = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Keep a part, or stop."""
        self._size += len(raw_data)
        if self._size > self.most_bytes:
            self.is_too_large = True
            self._parts.clear()
            raise StopUpload(connection_reset=False)
        self._parts.append(raw_data)

    def file_complete(self, file_size: int) -> UploadedFile:
        """Hand over the whole file."""
        return SimpleUploadedFile("photo", b"".join(self._parts), self.content_type or "")


def takes_photo(most_bytes: int = MOST_BYTES) -> Callable[..., Any]:
    """Let a view receive one photograph in memory. The token of the form is checked after the handler is in place."""

    def wrap(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
        guarded = csrf_protect(view)

        @wraps(view)
        def received(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            request.upload_handlers = [InMemory(request, most_bytes)]
            return guarded(request, *args, **kwargs)

        return csrf_exempt(received)

    return wrap


def was_too_large(request: HttpRequest) -> bool:
    """Say whether a photograph was dropped on its way in."""
    assert request.POST is not None  # reading the form is what runs the handler
    handler = request.upload_handlers[0]
    return isinstance(handler, InMemory) and handler.is_too_large


def photo_in(request: HttpRequest) -> bytes:
    """Return the photograph that was sent, or say why there is none."""
    photo = request.FILES.get("photo")
    handler = request.upload_handlers[0]
    if isinstance(handler, InMemory) and handler.is_too_large:
        raise too_large(handler.most_bytes)
    if not isinstance(photo, UploadedFile) or not photo.size:
        raise LabError("no-photo", NO_PHOTO)
    return photo.read()
