"""Pictures of the debrief: from a scene to a figure, by small functions over axes."""
