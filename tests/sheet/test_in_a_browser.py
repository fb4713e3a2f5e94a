"""The HTML sheet in a real browser, where one is installed: on a phone, on A4, on US Letter."""

import re
import shutil
import subprocess
from html import escape
from pathlib import Path

import pytest

from heelwise.documents.record import Record
from heelwise.sheet.forms import sheet

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE = 400
"""Columns of pixels of a phone held upright."""

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no browser is installed here")


def browse(page: Path, *flags: str) -> str:
    assert BROWSER is not None
    profile = page.parent / "profile"
    command = [BROWSER, *FLAGS, f"--user-data-dir={profile}", *flags, page.as_uri()]
    done = subprocess.run(command, capture_output=True, timeout=120, check=True)
    return done.stdout.decode()


def pages_of(html: str, size: str, folder: Path) -> int:
    """How many pages it prints on."""
    page, pdf = folder / f"{size}.html", folder / f"{size}.pdf"
    page.write_text(html.replace("@page { ", f"@page {{ size: {size}; "), encoding="utf-8")
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={pdf}")
    return len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes()))


def test_a_phone_needs_no_sideways_scrolling(signed: Record, folder: Path) -> None:
    frame = folder / "phone.html"
    inside = escape(sheet(signed, "html"))
    frame.write_text(
        f'<iframe id="f" style="width:{PHONE}px;height:800px;border:0" srcdoc="{inside}"></iframe>'
        "<script>onload = () => { document.title = 'wide ' + "
        "document.getElementById('f').contentDocument.documentElement.scrollWidth }</script>",
        encoding="utf-8",
    )
    found = re.search(r"<title>wide (\d+)</title>", browse(frame, "--dump-dom"))
    assert found is not None
    assert 0 < int(found[1]) <= PHONE


@pytest.mark.parametrize("size", ["A4", "letter"])
def test_result_valves_and_pictures_print_on_one_page(
    signed: Record, folder: Path, size: str
) -> None:
    html = sheet(signed, "html")
    first, rest = html.split('<div class="rest">')
    assert first.count("<svg") == 16 + 2
    assert pages_of(f"{first}</body></html>", size, folder) == 1
    assert 3 <= pages_of(html, size, folder) <= 6, "213 entries at a size to be read"
    assert rest
