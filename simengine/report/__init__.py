"""The report kit: what every report is made of, and how it becomes a web page and a PDF."""
