"""Sessions: the log, its fold into states and curves, live, replayed and at full speed."""
