"""What goes in and out of the store: rosters, logs, tables, statements, bundles, new scores."""
