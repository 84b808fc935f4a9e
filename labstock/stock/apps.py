from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate


class StockConfig(AppConfig):
    name = "labstock.stock"
    label = "stock"
    verbose_name = "Stock"

    def ready(self) -> None:
        post_migrate.connect(put_up_guards, sender=self)


def put_up_guards(using: str, **kwargs: Any) -> None:
    """Put the history's guards up again after every migration, and the indexes of words."""
    from labstock.stock import guards, word_index  # the models are loaded by now

    guards.install(connections[using])
    word_index.install(connections[using])
