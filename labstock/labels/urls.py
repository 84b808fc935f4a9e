"""Labels to print."""

from django.urls import path

from labstock.labels import views, views_other

urlpatterns = [
    path("labels/", views.label_sheet, name="label-sheet"),
    path("labels/print.pdf", views.label_print, name="label-print"),
    path("labels/other/", views_other.label_other, name="label-other"),
    path("labels/places.pdf", views_other.label_places, name="label-places"),
    path("labels/box.pdf", views_other.label_box, name="label-box"),
    path("labels/blanks.pdf", views_other.label_blanks, name="label-blanks"),
    path("labels/card.pdf", views_other.label_card, name="label-card"),
    path("labels/badge.pdf", views_other.label_badge, name="label-badge"),
    path("labels/<str:code>.pdf", views.label_single, name="label-single"),
]
