"""Processes that check a part of the containers each. Nothing of the site is imported before they have set it up.

Each reads in a transaction of its own: a container and its lines are seen as they are at one moment, but not all containers at
the same. Nothing can slip through between: a line is never changed, and each is in exactly one part.
"""

import multiprocessing
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any

Part = tuple[int | None, int | None]
Checked = tuple[list[tuple[str, str]], int]


def checked(connection: Any, parts: Sequence[Part], workers: int) -> Iterator[Checked]:
    """Yield the faults (where, what) and the number of lines of each part, in the order of the parts."""
    about = dict(connection.settings_dict)
    context = multiprocessing.get_context("spawn")  # a branched-off process would share this one's connection
    with ProcessPoolExecutor(workers, context, _set_up, (about,)) as pool:
        try:
            yield from pool.map(_check, parts)
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _set_up(about: dict[str, Any]) -> None:
    import django

    django.setup()
    from django.db import DEFAULT_DB_ALIAS, connections
    from django.db.utils import load_backend

    connections[DEFAULT_DB_ALIAS] = load_backend(about["ENGINE"]).DatabaseWrapper(about, DEFAULT_DB_ALIAS)


def _check(part: Part) -> Checked:
    from labstock.stock.snapshot import one_moment
    from labstock.stock.verifying import check_containers

    counts: list[int] = []
    with one_moment():
        faults = [(fault.where, fault.what) for fault in check_containers(counts.append, "default", *part)]
    return faults, sum(counts)
