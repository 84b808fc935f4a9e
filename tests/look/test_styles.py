import re
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.template.loader import render_to_string

from labstock.look.style_sheets import JOINED, SHEETS, JoinedStaticFilesStorage

ROOT = Path(__file__).parents[2]
STYLES = sorted((ROOT / "labstock/look/static/look").glob("*.css"))
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
MEANS_OLDER = re.compile(r"older\.css")


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_needs_more_than_the_policy_allows(path: Path) -> None:
    text = path.read_text()
    assert not re.search(r"\sstyle\s*=", text)
    assert not re.search(r"\son\w+\s*=\s*[\"']", text)
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert "<style" not in text


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_nothing_is_fetched_from_elsewhere(path: Path) -> None:
    assert not re.search(r"(?:src|href)=[\"'](?:https?:)?//", path.read_text())


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_style_sheets_close_every_brace_and_fetch_nothing(path: Path) -> None:
    text = path.read_text()
    assert text.count("{") == text.count("}")
    assert not re.search(r"url\((?!\"#)|@import", text)


def test_page_loads_every_style_sheet() -> None:
    page = render_to_string("look/styles.html")
    assert re.findall(r"look/(\w+\.css)", page) == [Path(name).name for name in SHEETS]
    assert {Path(name).name for name in SHEETS} == {path.name for path in STYLES}


def test_collecting_joins_the_sheets_of_every_page_into_one_of_a_hashed_name(tmp_path: Path) -> None:
    storage = JoinedStaticFilesStorage(location=tmp_path)
    paths = {}
    for name in SHEETS:
        storage.save(name, ContentFile(f"/* {name} */".encode()))
        paths[name] = (storage, name)
    list(storage.post_process(paths))
    joined = (tmp_path / storage.stored_name(JOINED)).read_text()
    assert re.findall(r"/\* (\S+) \*/", joined) == list(SHEETS)
    assert re.search(r"look/all\.[0-9a-f]{12}\.css", storage.stored_name(JOINED))


def test_every_colour_in_use_is_a_token() -> None:
    allowed = {"tokens.css", "older.css", "labels.css", "print.css"}
    for path in STYLES:
        if path.name not in allowed:
            assert not re.search(
                r":[^;{]*#[0-9a-f]{3,6}\b(?!\")", re.sub(r"url\([^)]*\)", "", path.read_text())
            ), path


def test_what_hangs_on_has_is_usable_without_it() -> None:
    for path in STYLES:
        outside = re.sub(r"@supports selector\(:has\(\*\)\) \{.*?\n  \}", "", path.read_text(), flags=re.S)
        hidden = [line for line in outside.splitlines() if ":has(" in line and "display: none" in line]
        assert hidden == []
