"""The cohort report: a page model, its figures, a web page and a PDF."""
