"""The command line: one verb, one small module."""
