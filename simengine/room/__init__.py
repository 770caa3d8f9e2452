"""The debriefing room: four steps on the wall, led from the facilitator's tablet."""
