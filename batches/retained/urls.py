"""Retained samples: find, look, catalogue."""

from django.urls import path

from batches.retained import views

urlpatterns = [
    path("samples/", views.sample_list, name="sample-list"),
    path("samples/add/", views.sample_add, name="sample-add"),
    path("samples/<str:code>/", views.sample, name="sample"),
    path("samples/<str:code>/provenance", views.provenance, name="sample-provenance"),
    path("samples/<str:code>/condition", views.condition, name="sample-condition"),
    path("batches/<str:number>/retain", views.retain, name="batch-retain"),
]
