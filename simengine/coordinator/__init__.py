"""The coordinator's and the trainees' pages: thin handlers, one typed context for each page."""
