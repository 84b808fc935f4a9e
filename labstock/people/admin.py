"""The administrator's pages for people."""

from typing import Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest

from labstock.people.models import LabGroup, User


@admin.register(User)
class PersonAdmin(UserAdmin):
    list_display = ["username", "first_name", "last_name", "role", "group", "is_active"]
    fieldsets = (*(UserAdmin.fieldsets or ()), ("In the lab", {"fields": ("role", "group")}))

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Let nobody delete a person: whoever leaves is made inactive, and their entries keep their name."""
        return False


admin.site.register(LabGroup)
