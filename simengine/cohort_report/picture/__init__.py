"""The report's figures, drawn with the strokes of the debrief's picture."""
