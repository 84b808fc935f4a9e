"""The administrator's pages for people."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin

from labstock.people.models import LabGroup, User


@admin.register(User)
class PersonAdmin(UserAdmin):
    list_display = ["username", "first_name", "last_name", "role", "group", "is_active"]
    fieldsets = (*(UserAdmin.fieldsets or ()), ("In the lab", {"fields": ("role", "group")}))


admin.site.register(LabGroup)
