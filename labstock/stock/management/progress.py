"""Show how far a long command has come."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from tqdm import tqdm


@contextmanager
def bars(is_quiet: bool) -> Iterator[Callable[[str, int, int], None]]:
    """Hand out a function that is told what is done, how much of it, of how much; each deed gets a bar."""
    bar, shown = tqdm(disable=True), ""

    def told(deed: str, done: int, many: int) -> None:
        nonlocal bar, shown
        if deed != shown:
            bar.close()
            bar, shown = tqdm(desc=deed, total=many, disable=is_quiet), deed
        bar.total = many
        bar.update(max(done - bar.n, 0))

    try:
        yield told
    finally:
        bar.close()
