from django.apps import AppConfig


class BatchesConfig(AppConfig):
    name = "batches"
    label = "batches"
    verbose_name = "Batches"

    def ready(self) -> None:
        from batches.verifying import confirm_digest, find_changed_batches
        from labstock.stock.verifying import CHECKS, CONFIRMS  # the models are loaded by now

        CHECKS.append(find_changed_batches)
        CONFIRMS.append(confirm_digest)
