"""Every address of the site, app by app."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("labstock.bench.urls")),
    path("", include("labstock.people.urls")),
    path("", include("labstock.stock.urls")),
    path("", include("labstock.labels.urls")),
    path("", include("batches.urls")),
    path("", include("batches.retained.urls")),
    path("admin/", admin.site.urls),
]

handler500 = "labstock.outages.server_error"
