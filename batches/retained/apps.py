from django.apps import AppConfig


class RetainedConfig(AppConfig):
    name = "batches.retained"
    label = "retained"
    verbose_name = "Retained samples"

    def ready(self) -> None:
        from batches.retained.actions import learn_names
        from labstock.stock.actions.catalogue import WHEN_RENAMED  # the models are loaded by now

        WHEN_RENAMED.append(learn_names)
