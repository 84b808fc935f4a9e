"""The style sheets every page asks for: many files to write in, one file over the wire."""

from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.files.base import ContentFile
from whitenoise.storage import CompressedManifestStaticFilesStorage

SHEETS = tuple(
    f"look/{name}.css"
    for name in (
        "tokens",
        "older",
        "base",
        "components",
        "forms",
        "say",
        "amounts",
        "lists",
        "pages",
        "records",
        "labels",
        "print",
    )
)  # in the order in which one may overrule another
JOINED = "look/all.css"


class JoinedStaticFilesStorage(CompressedManifestStaticFilesStorage):
    """Collected files with a hash in their names, kept by browsers for good; the sheets of every page in one of them."""

    def post_process(self, paths: dict[str, Any], dry_run: bool = False, **options: Any) -> Iterator[Any]:
        """Join the sheets before names are hashed and files compressed."""
        if not dry_run and all(name in paths for name in SHEETS):
            parts = []
            for name in SHEETS:
                storage, path = paths[name]
                with storage.open(path) as sheet:
                    parts.append(sheet.read())
            self.delete(JOINED)
            self.save(JOINED, ContentFile(b"\n".join(parts)))
            paths[JOINED] = (self, JOINED)
        yield from super().post_process(paths, dry_run, **options)


def sheet_addresses() -> list[str]:
    """Return the addresses a page links to: one sheet where they were joined, each by itself while developing."""
    is_joined = isinstance(staticfiles_storage, JoinedStaticFilesStorage) and not settings.DEBUG
    return [staticfiles_storage.url(name) for name in ([JOINED] if is_joined else SHEETS)]
