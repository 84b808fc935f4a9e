"""Labels: what is printed on paper, and the codes on it."""

from django.apps import AppConfig


class LabelsConfig(AppConfig):
    name = "labstock.labels"
    label = "labels"
    verbose_name = "Labels"
