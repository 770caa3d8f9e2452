"""simengine: run, score and explain simulated newborn emergencies. For training only."""

__version__ = "0.1.0"
