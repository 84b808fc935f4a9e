"""What a page may ask of the device it is shown on: nothing, unless its own answer says otherwise."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponseBase

NOTHING = "camera=(), microphone=(), geolocation=(), payment=(), usb=()"


class PermissionsPolicyMiddleware:
    """Forbid camera, microphone and position everywhere but on the page that scans."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        response.headers.setdefault("Permissions-Policy", NOTHING)
        return response
