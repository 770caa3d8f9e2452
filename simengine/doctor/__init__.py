"""Looks over what a console needs (store, keys, files, clock, port) and says what to do."""
