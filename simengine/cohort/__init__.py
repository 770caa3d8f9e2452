"""What many sessions say together: competence, times, items, agreement. No file, no web.

Publications are named from memory; where a test holds a figure to a printed one, it says so.
"""
