"""The live desk: facilitator console, displays and review over one live engine."""
