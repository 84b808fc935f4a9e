from django.apps import AppConfig


class BenchConfig(AppConfig):
    name = "labstock.bench"
    label = "bench"
    verbose_name = "Bench"
