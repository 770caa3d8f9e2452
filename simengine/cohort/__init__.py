"""What many sessions say together: competence, times, items, agreement. No file, no web."""
