"""The bench sums."""

from django.urls import path

from labstock.bench.sums import views

urlpatterns = [
    path("", views.index, name="sums"),
    path("<slug:subject>/", views.work_out, name="sum"),
]
