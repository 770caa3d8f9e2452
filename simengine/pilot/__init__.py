"""Simulated teams play a scenario at full speed, to find out about the scenario."""
