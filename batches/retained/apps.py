from django.apps import AppConfig


class RetainedConfig(AppConfig):
    name = "batches.retained"
    label = "retained"
    verbose_name = "Retained samples"
