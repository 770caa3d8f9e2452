"""Who is trained for what: roster, requirements, currency, outcomes. No file, no web."""
