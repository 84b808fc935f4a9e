"""Labels to print."""

from django.urls import path

from labstock.labels import views

urlpatterns = [
    path("labels/", views.label_sheet, name="label-sheet"),
    path("labels/print.pdf", views.label_print, name="label-print"),
    path("labels/<str:code>.pdf", views.label_single, name="label-single"),
]
