"""Lists of what is on the shelf, and what describes it."""

from django.urls import path

from labstock.stock.views import checks, containers, locations, lots, substances

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
    path("checks/", checks.check_list, name="check-list"),
    path("checks/start/", checks.check_start, name="check-start"),
    path("checks/worth/", checks.check_worth, name="check-worth"),
    path("checks/<int:pk>/move/<str:code>", checks.check_move, name="check-move"),
    path("checks/<int:pk>/foreign", checks.check_foreign, name="check-foreign"),
    path("checks/<int:pk>/count/<str:code>", checks.check_count, name="check-count"),
    path("checks/<int:pk>/counted/<int:count>", checks.check_counted, name="check-counted"),
    path("checks/<int:pk>/explain/<int:count>", checks.check_explain, name="check-explain"),
    path("checks/<int:pk>/finish", checks.check_finish, name="check-finish"),
    path("checks/<int:pk>/result", checks.check_result, name="check-result"),
    path("checks/<int:pk>/result.xlsx", checks.check_export, name="check-export"),
]
