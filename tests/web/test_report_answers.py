"""A report that is answered as a page: its own styles alone, and a link that leads on from it."""

from __future__ import annotations

from pathlib import Path

from simengine.web.report_answers import report_page


def test_a_report_leads_back_to_where_one_came_from_and_still_runs_nothing(tmp_path: Path) -> None:
    file = tmp_path / "debrief.html"
    file.write_text("<html><style>p{}</style><body><p>A debrief.</p></body></html>")
    plain = report_page(file)
    led = report_page(file, back=("/cohort/people/a&b", "Ada's page"))
    assert b"<nav" not in plain.body
    assert b'<nav aria-label="Back"><a href="/cohort/people/a&amp;b">' in led.body
    assert "Ada&#x27;s page" in bytes(led.body).decode()
    policy = led.headers["content-security-policy"]
    assert policy == plain.headers["content-security-policy"]
    assert "default-src 'none'" in policy
