"""The administrator's pages. History can be read there, never written."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from labstock.stock import models


class ReadOnly(admin.ModelAdmin):
    """Looking is allowed; adding, changing and deleting go through the bench pages alone."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(models.Entry)
class EntryAdmin(ReadOnly):
    list_display = ["container", "seq", "kind", "change", "by_name", "recorded_at"]
    list_select_related = ["container"]
    search_fields = ["container__code"]


@admin.register(models.Container)
class ContainerAdmin(ReadOnly):
    list_display = ["code", "name", "state", "location"]
    list_select_related = ["substance", "location"]
    search_fields = ["code", "search_text"]


@admin.register(models.Reservation)
class ReservationAdmin(ReadOnly):
    list_display = ["container", "session", "amount", "drawn", "state"]
    list_select_related = ["container", "session"]


for model in (
    models.ReservationEvent,
    models.StateChange,
    models.Assay,
    models.Session,
    models.QueuedEntry,
    models.Settlement,
    models.StockCheck,
    models.CheckFinding,
    models.CheckCount,
    models.CheckSettled,
    models.CheckEnd,
):
    admin.site.register(model, ReadOnly)
