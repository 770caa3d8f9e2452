"""The practice check of a cot: ten minutes, no scenario, no score, no names."""
