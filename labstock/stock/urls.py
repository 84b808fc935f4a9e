"""Lists of what is on the shelf, and what describes it."""

from django.urls import path

from labstock.stock.views import containers, locations, lots, substances

urlpatterns = [
    path("stock/", containers.container_list, name="container-list"),
    path("stock/list.xlsx", containers.container_export, name="container-export"),
    path("stock/receive/", containers.receive_containers, name="container-receive"),
    path("substances/", substances.substance_list, name="substance-list"),
    path("substances/add/", substances.add, name="substance-add"),
    path("substances/<int:pk>/", substances.substance, name="substance"),
    path("substances/<int:pk>/edit/", substances.edit, name="substance-edit"),
    path("substances/<int:pk>/lots/add/", lots.add, name="lot-add"),
    path("lots/<int:pk>/edit/", lots.edit, name="lot-edit"),
    path("locations/", locations.location_list, name="location-list"),
    path("locations/add/", locations.add, name="location-add"),
    path("locations/<int:pk>/", locations.location, name="location"),
]
