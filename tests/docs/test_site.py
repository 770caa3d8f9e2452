"""The documentation becomes a site, and no link in it leads nowhere."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import simengine

DOCS = Path(__file__).parents[2] / "docs"


def built(source: Path, folder: Path) -> subprocess.CompletedProcess[str]:
    """Build a site without running notebooks, which a test of their own does."""
    return subprocess.run(
        [
            *(sys.executable, "-m", "sphinx", "--fail-on-warning", "--keep-going", "--quiet"),
            *("-b", "html", "-d", folder / "trees", "-c", DOCS, source, folder / "html"),
        ],
        env={**os.environ, "NOTEBOOKS": "off"},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    run = built(DOCS, folder)
    assert run.returncode == 0, run.stderr
    return folder / "html"


def test_every_page_is_on_the_site_and_in_its_index(site: Path) -> None:
    pages = [path.relative_to(DOCS) for kind in ("md", "ipynb") for path in DOCS.rglob(f"*.{kind}")]
    assert len(pages) > 8
    for page in pages:
        assert (site / page).with_suffix(".html").is_file(), page


def test_every_link_inside_the_site_leads_to_a_page_and_a_place_of_it(site: Path) -> None:
    checked = 0
    for page in site.rglob("*.html"):
        for link in re.findall(r'href="([^"]+)"', page.read_text("utf-8")):
            target, _, place = link.replace("&amp;", "&").partition("#")
            target = target.partition("?")[0]
            if "://" in target or target.startswith(("mailto:", "data:")):
                continue
            file = (page.parent / target).resolve() if target else page
            assert file.is_file(), (page.name, link)
            if place and file.suffix == ".html":
                assert f'id="{place}"' in file.read_text("utf-8"), (page.name, link)
            checked += 1
    assert checked > 100


def test_the_reference_has_every_public_function_with_its_words(site: Path) -> None:
    text = (site / "reference.html").read_text("utf-8")
    for name in simengine.__all__:
        assert f'id="simengine.{name}"' in text
        function = getattr(simengine, name)
        first = function.__doc__.split()[0]
        assert first in text


def test_a_link_that_leads_nowhere_is_an_error(tmp_path: Path) -> None:
    source = tmp_path / "docs"
    source.mkdir()
    (source / "index.md").write_text("# A page\n\n[nowhere](nowhere.md)\n", "utf-8")
    run = built(source, tmp_path)
    assert run.returncode != 0
    assert "nowhere" in run.stderr
