"""Answering with a report that was made as files: its web page or its PDF.

Rules of this file:

- Such a page brings its own styles. Its Content-Security-Policy names their hashes and lets nothing
  else in: no script, no form, nothing from an address.
"""

from __future__ import annotations

import base64
import hashlib
import re
from html import escape
from pathlib import Path

from starlette.responses import FileResponse, HTMLResponse, Response

_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def report_page(
    file: Path, *, back: tuple[str, str] | None = None, also: tuple[str, str] | None = None
) -> Response:
    """Return a report's web page; ``back``: address and words of a link that leads on from it.

    ``also``: of a second one, to what else there is on the same.
    """
    html = file.read_text(encoding="utf-8")
    if back is not None:
        links = '<a href="{}">← {}</a>'.format(*map(escape, back))
        if also is not None:
            links += ' · <a href="{}">{}</a>'.format(*map(escape, also))
        html = html.replace("<body>", f'<body><nav aria-label="Back">{links}</nav>', 1)
    styles = " ".join(f"'sha256-{_sha256(style)}'" for style in _STYLE.findall(html)) or "'none'"
    policy = (
        f"default-src 'none'; style-src {styles}; img-src data:; font-src data:; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )
    return HTMLResponse(html, headers={"content-security-policy": policy})


def report_pdf(file: Path) -> Response:
    """Return a report's PDF as a file to keep."""
    return FileResponse(file, media_type="application/pdf", filename=file.name)


def _sha256(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
