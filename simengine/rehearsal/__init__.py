"""Rehearsing alone: a scenario and its cot, played by one person in the browser."""
